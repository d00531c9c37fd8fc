#!/usr/bin/env bash
# Runs a command with THENAR_DATABASE_URL naming a throw-away PostgreSQL on loopback.
#   scripts/with_postgresql.sh make test
set -euo pipefail
if [ $# = 0 ]; then
    echo "Say what to run: scripts/with_postgresql.sh make test" >&2
    exit 2
fi

bin=""
for place in /usr/lib/postgresql/*/bin /opt/homebrew/opt/postgresql*/bin; do
    [ -x "$place/initdb" ] && bin=$place
done
if [ -z "$bin" ]; then
    echo "No PostgreSQL server was found. Debian and Ubuntu: sudo apt install postgresql; macOS: brew install postgresql" >&2
    exit 1
fi
folder=$(mktemp -d)
port=$((20000 + RANDOM % 20000))
as_owner=()
if [ "$(id -u)" = 0 ]; then # the server refuses to run as root
    chown postgres "$folder"
    as_owner=(runuser -u postgres --)
fi
cd_back=$PWD
cd "$folder"
"${as_owner[@]}" "$bin/initdb" -D "$folder/db" -U thenar -A trust -E UTF8 --no-sync >/dev/null
stop() {
    cd "$folder" && "${as_owner[@]}" "$bin/pg_ctl" -D "$folder/db" -m immediate -w stop >/dev/null 2>&1 || true
    rm -rf "$folder"
}
trap stop EXIT
# fsync off: this server's data is thrown away with it.
"${as_owner[@]}" "$bin/pg_ctl" -D "$folder/db" -w -l "$folder/log" \
    -o "-c listen_addresses=127.0.0.1 -c unix_socket_directories='' -p $port -c fsync=off -c max_connections=100" start >/dev/null
cd "$cd_back"
export THENAR_DATABASE_URL="postgresql://thenar@127.0.0.1:$port/postgres"
# The whole server is thrown away, so test databases need no dropping: a session slow to end can't spoil a run.
export PYTEST_ADDOPTS="${PYTEST_ADDOPTS:-} --reuse-db"
"$@"
