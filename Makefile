# The front door. `make` alone lists what there is.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet
LOCKED := install --require-hashes --only-binary=:all: -r
LONGEST_MODULE := 500
# Packages that check pages in the browser tests; they need npm.
CHECKERS := $(if $(shell command -v npm),tests/browser/node_modules/.is-set-up)

.DEFAULT_GOAL := help
.PHONY: help setup demo serve test check fmt bench verify schema docs lock clean

help:  ## list these targets
	@grep -E '^[a-z]+:.*  ## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z]+):.*  ## (.*)/\1\t\2/' \
	  | awk -F'\t' '{ printf "  make %-8s %s\n", $$1, $$2 }'

setup: $(VENV)/.lastbee-is-set-up  ## make .venv with the locked dependencies and lastbee in it

demo: setup  ## plan the example job, then follow its visits; reports in build/
	@mkdir -p build
	$(BIN)/lastbee plan examples/meadowgate.toml --pdf build/meadowgate.pdf
	$(BIN)/lastbee visit examples/meadowgate_visits.toml --pdf build/meadowgate_visits.pdf

serve: setup  ## open the firm's record in a browser on this machine
	$(BIN)/lastbee serve

test: $(VENV)/.tools-are-set-up $(CHECKERS)  ## run the tests
	$(BIN)/python -m pytest -n 2
	@command -v chromium >/dev/null || echo "Left out: the browser tests, for which Debian's package 'chromium' is needed."
	@command -v npm >/dev/null || echo "Left out: the checks of accessibility and page quality, for which Debian's package 'npm' is needed."
	@echo "Left out: the tests marked 'long' and verify.run, which take too long for every change; run 'make verify'."

check: $(VENV)/.tools-are-set-up  ## formatting, lint, types, layers, spelling, docs, module sizes
	$(BIN)/python -m ruff format --check .
	$(BIN)/python -m ruff check .
	$(BIN)/python -m mypy
	$(BIN)/lint-imports --no-logo
	$(BIN)/codespell
	$(BIN)/python -m pytest -q tests/contract
	@find lastbee tests bench verify reference docs -name '*.py' -exec awk \
	  'END { if (FNR > $(LONGEST_MODULE)) print FILENAME ": " FNR " lines, more than $(LONGEST_MODULE)" }' {} \; \
	  | awk '{ print } END { exit NR > 0 }'

fmt: $(VENV)/.tools-are-set-up  ## format the code and mend what lint can mend
	$(BIN)/python -m ruff format .
	$(BIN)/python -m ruff check --fix .

bench: $(VENV)/.tools-are-set-up  ## measure speed and memory into build/bench.json
	@mkdir -p build
	$(BIN)/python -m bench.run

verify: $(VENV)/.tools-are-set-up  ## the long checks of honesty, into build/verify.json
	@mkdir -p build
	$(BIN)/python -m verify.run

schema: setup  ## write the schemas of job file, plan and progress in docs/schema anew
	@mkdir -p docs/schema
	$(BIN)/lastbee schema > docs/schema/job.schema.json.new
	@mv docs/schema/job.schema.json.new docs/schema/job.schema.json
	for document in plan progress; do \
	  $(BIN)/python -c "from lastbee.documents import as_json; print(as_json.$${document}_schema_text(), end='')" \
	    > docs/schema/$$document.schema.json.new || exit 1; \
	  mv docs/schema/$$document.schema.json.new docs/schema/$$document.schema.json; \
	done

docs: $(VENV)/.tools-are-set-up schema  ## renew tables, shown output and picture in docs
	$(BIN)/python -m docs.constants_table
	$(BIN)/python -m docs.tutorial_output
	$(BIN)/python -m docs.outside_checks
	$(BIN)/python -m docs.triage_tables
	$(BIN)/python -m docs.picture
	$(BIN)/python -m docs.screens

# Needs `uv` on the PATH; see docs/decisions/0006-locked-dependencies.md.
LOCK := uv pip compile pyproject.toml --quiet --universal --python-version 3.11 \
  --fork-strategy fewest --generate-hashes --no-emit-index-url --no-header --no-annotate
lock:  ## take newer dependencies into the lock files
	$(LOCK) --upgrade --group build -o requirements.lock
	$(LOCK) --upgrade --group dev -c requirements.lock -o requirements-dev.lock

clean:  ## remove .venv, build and every cache
	rm -rf $(VENV) build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
	rm -rf tests/browser/node_modules
	find lastbee tests bench verify reference docs -name __pycache__ -type d -prune -exec rm -rf {} +

$(VENV)/bin/python:
	@command -v $(PYTHON) >/dev/null || { \
	  echo "lastbee needs Python 3.11 or newer: install it, on Debian with 'sudo apt-get install python3 python3-venv'."; exit 1; }
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "lastbee needs Python 3.11 or newer and $(PYTHON) is older: name one, as in 'make setup PYTHON=python3.12'."; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
	  echo "Python cannot make virtual environments here: install the module, on Debian with 'sudo apt-get install python3-venv'."; exit 1; }
	@$(PYTHON) -m venv $(VENV)

$(VENV)/.lastbee-is-set-up: requirements.lock pyproject.toml | $(VENV)/bin/python
	@echo "Setting up $(VENV) from requirements.lock (about 700 MB on disk, once) ..."
	@$(PIP) $(LOCKED) requirements.lock
	@$(PIP) install --no-deps --no-build-isolation --editable .
	@touch $@

$(VENV)/.tools-are-set-up: requirements-dev.lock $(VENV)/.lastbee-is-set-up
	@echo "Adding the tools for tests and checks from requirements-dev.lock ..."
	@$(PIP) $(LOCKED) requirements-dev.lock
	@touch $@

tests/browser/node_modules/.is-set-up: tests/browser/package-lock.json
	@echo "Adding what checks pages in the browser tests from tests/browser/package-lock.json ..."
	@cd tests/browser && npm ci --ignore-scripts --silent
	@touch $@
