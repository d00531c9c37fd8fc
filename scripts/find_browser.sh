#!/bin/sh
# Browser tests need a Chromium: use one that is here, else install it through the system's packages where that is
# allowed, else say plainly that those tests will be skipped.
set -u

for name in chromium chromium-browser google-chrome google-chrome-stable; do
    command -v "$name" >/dev/null 2>&1 && exit 0
done
[ -x "/Applications/Chromium.app/Contents/MacOS/Chromium" ] && exit 0
[ -x "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome" ] && exit 0
if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
    echo "Installing Chromium for the browser tests ..."
    if apt-get update -qq && apt-get install -y -qq chromium >/dev/null; then
        exit 0
    fi
fi
echo "No Chromium was found and none could be installed: BROWSER TESTS WILL BE SKIPPED." >&2
echo "Install it (Debian and Ubuntu: sudo apt install chromium; macOS: brew install --cask chromium) to run them." >&2
exit 0
