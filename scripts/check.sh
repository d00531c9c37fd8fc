#!/bin/sh
# Reads only. One truth for the developer, the hook and CI.
set -eu
bin=.venv/bin
step() { printf '%s ' "$1"; shift; "$@" >/tmp/thenar-check.$$ 2>&1 && echo ok || { echo; cat /tmp/thenar-check.$$; rm -f /tmp/thenar-check.$$; exit 1; }; rm -f /tmp/thenar-check.$$; }
THENAR_DATA=$(mktemp -d); export THENAR_DATA
export DJANGO_SETTINGS_MODULE=thenar.site.settings
trap 'rm -rf "$THENAR_DATA"' EXIT

step "format      " $bin/ruff format --check -q .
step "lint        " $bin/ruff check -q .
step "types       " $bin/mypy
step "imports     " $bin/lint-imports
step "dependencies" $bin/deptry src
step "migrations  " $bin/django-admin makemigrations --check --dry-run
step "settings    " $bin/django-admin check --fail-level WARNING
step "knowledge   " $bin/thenar knowledge verify
step "fast tests  " $bin/python -m pytest -n auto -q -m "not browser and not slow"
