# Two commands set up everything: `make demo` and `make test`. The others are for people who change Beltwright.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
OUT ?= out
SYSTEM_PACKAGES := postgresql poppler-utils chromium libnss3-tools fluidsynth fluid-soundfont-gm

.PHONY: demo test check bench docs pictures lock clean system

demo: $(VENV)/.run
	$(BIN)/python examples/demo.py --out $(OUT)

test: $(VENV)/.test system
	$(BIN)/python -m pytest -n auto --dist loadgroup

check: $(VENV)/.test
	$(BIN)/ruff check
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(VENV)/.test
	@for bench in benchmarks/*.py; do echo "== $$bench"; $(BIN)/python $$bench || exit 1; done

docs: $(VENV)/.run
	$(BIN)/python -m beltwright.cli.manual docs/commands

pictures: $(VENV)/.test system
	$(BIN)/python -m tests.web.pictures docs/pictures

# The lock names packages and hashes, never a registry.
lock:
	uv lock --upgrade
	uv export --quiet --no-emit-project --no-header --no-default-groups -o requirements.lock
	uv export --quiet --no-emit-project --no-header --all-extras --group test -o requirements-test.lock

# Debian's python3 may come without venv or pip; where we may, we install them.
$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "Python 3.11 or later is needed; say which one with: make $(MAKECMDGOALS) PYTHON=python3.12"; exit 1; }
	@$(PYTHON) -m venv $(VENV) 2>/dev/null || { rm -rf $(VENV); \
	  $(MAKE) --no-print-directory apt PACKAGES=python3-venv && $(PYTHON) -m venv $(VENV); }

$(VENV)/.run: $(VENV)/bin/python requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@

$(VENV)/.test: $(VENV)/bin/python requirements-test.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-test.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@ $(VENV)/.run

system:
	@missing=""; for package in $(SYSTEM_PACKAGES); do \
	  dpkg -s $$package >/dev/null 2>&1 || missing="$$missing $$package"; done; \
	if [ -n "$$missing" ]; then $(MAKE) --no-print-directory apt PACKAGES="$$missing" || \
	  echo "not installed:$$missing; the tests that need them will say so"; fi

.PHONY: apt
apt:
	@if ! command -v apt-get >/dev/null; then echo "please install:$(PACKAGES)"; exit 1; fi; \
	if [ "$$(id -u)" = 0 ]; then sudo=""; elif sudo -n true 2>/dev/null; then sudo="sudo -n"; \
	else echo "please run: sudo apt-get install $(PACKAGES)"; exit 1; fi; \
	$$sudo apt-get update -qq && DEBIAN_FRONTEND=noninteractive $$sudo apt-get install -y -qq $(PACKAGES) >/dev/null

clean:
	rm -rf $(VENV) $(OUT) dist build .mypy_cache .ruff_cache .pytest_cache .hypothesis .benchmarks
