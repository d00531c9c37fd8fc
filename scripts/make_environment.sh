#!/bin/sh
# Makes .venv with the pinned dependencies. Works where Python is 3.11 or newer; says what is missing where it is not.
set -eu

python=""
for name in python3 python3.13 python3.12 python3.11 python3.14; do
    if command -v "$name" >/dev/null 2>&1 && "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
        python=$name
        break
    fi
done
if [ -z "$python" ]; then
    echo "Thenar needs Python 3.11 or newer, and none was found. Install it (Debian and Ubuntu: apt install python3 python3-venv; macOS: brew install python) and run make again." >&2
    exit 1
fi

if [ ! -x .venv/bin/python ] || ! .venv/bin/python -c 'import pip' 2>/dev/null; then
    if ! "$python" -m venv .venv 2>/dev/null; then
        # Debian and Ubuntu ship Python without its venv module.
        if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
            apt-get update -qq && apt-get install -y -qq python3-venv >/dev/null
            "$python" -m venv .venv
        else
            echo "Python is here but can't make an environment. Run: sudo apt install python3-venv   then make again." >&2
            exit 1
        fi
    fi
fi

echo "Installing pinned dependencies ..."
.venv/bin/python -m pip install -q --disable-pip-version-check "uv==0.13.9"
.venv/bin/uv pip install -q --python .venv/bin/python --require-hashes -r requirements/dev.lock
.venv/bin/uv pip install -q --python .venv/bin/python --no-deps -e .
touch .venv/ready
