# `make` lists what there is to make.
PORT ?= 8017
PY := .venv/bin/python
DATA ?= data/demo
# Tests run on every core already: the threads of linear algebra would only fight over them.
export OPENBLAS_NUM_THREADS ?= 1

.DEFAULT_GOAL := help
.PHONY: help demo demo-fresh test check fix cover browser-ready lock clean pictures bench edition

help: ## list the targets
	@grep -E '^[a-z-]+:.*##' Makefile | sed -E 's/:.*## /\t/' | expand -t 14

.venv/ready: requirements/dev.lock pyproject.toml scripts/make_environment.sh
	@sh scripts/make_environment.sh

demo: .venv/ready ## build Saltmere once, serve it on this machine, print the way in (PORT=8017)
	@THENAR_DATA=$(DATA) .venv/bin/thenar demo --serve --port $(PORT)

demo-fresh: .venv/ready ## throw the demo's data away and build it anew
	@THENAR_DATA=$(DATA) .venv/bin/thenar demo --fresh --serve --port $(PORT)

test: .venv/ready ## the whole suite, browser included where there is one
	@sh scripts/find_browser.sh
	@$(PY) -m pytest -n auto --dist loadfile -q

check: .venv/ready ## format, lint, types, imports, migrations, fast tests: reads only
	@sh scripts/check.sh

fix: .venv/ready ## format and mend what can be mended
	@.venv/bin/ruff format -q .
	@.venv/bin/ruff check -q --fix .

cover: .venv/ready ## branch coverage
	@$(PY) -m pytest -n auto -q --cov=thenar --cov-branch --cov-report=term-missing:skip-covered

bench: .venv/ready ## speed figures
	@for file in benchmarks/*.py; do echo "== $$file"; $(PY) $$file || exit 1; done

pictures: .venv/ready ## take the screenshots of the docs from the demo
	@$(PY) scripts/take_pictures.py

edition: .venv/ready ## the fingerprint of the knowledge, for editions.toml
	@$(PY) -c "from thenar.knowledge.book import shipped_digest; print(shipped_digest())"

lock: ## pin dependencies again
	@.venv/bin/uv pip compile -q --universal --generate-hashes --no-header --no-emit-index-url --group dev pyproject.toml -o requirements/dev.lock
	@.venv/bin/uv pip compile -q --universal --generate-hashes --no-header --no-emit-index-url pyproject.toml -o requirements/run.lock

clean: ## remove the environment and the demo's data
	@rm -rf .venv $(DATA) .pytest_cache .mypy_cache .ruff_cache
