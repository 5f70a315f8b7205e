# The commands:      make demo   plans, computes and judges the demo day
#                    make serve  opens the bench of the demo department
#                    make test   runs the tests
# For contributors:  make check  everything the CI runs; see CONTRIBUTING.md

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
MAKEFLAGS += --no-builtin-rules --no-print-directory
.DELETE_ON_ERROR:
.DEFAULT_GOAL := help

PYTHON ?= python3
UV := $(shell uv --version >/dev/null 2>&1 && echo uv)
DEMO := .venv-demo
TEST := .venv-test
BIN := $(TEST)/bin
WHEEL := .venv-wheel

# The rooms whose branches must be tested, and those whose figure is shown
COVERED := quantities texts catalogue load flow reach plan evidence ledger
SHOWN := papers steps bench demo cli

.PHONY: help demo serve test check format lock docs bench clean
.PHONY: formatted linted typed layered described spelled documented covered installed

help: ## list what can be made
	@sed -nE 's/^([a-z]+):[^#]*## (.*)$$/make \1\t\2/p' Makefile | expand -t 16

# --- environments ----------------------------------------------------------------------------------------------------

# $(call environment,FOLDER,LOCK) makes a new virtual environment with exactly the pinned versions. A lock names everything
# that is needed, so dependencies are not resolved again: a resolver takes `coverage[toml]` for another package than the
# pinned `coverage` and fails on the day its next release appears.
define environment
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null \
	    || { echo "patency needs Python 3.11 or newer as $(PYTHON); name another with: make $(MAKECMDGOALS) PYTHON=python3.12" >&2; exit 2; }
	@test -n "$(UV)" || $(PYTHON) -c 'import ensurepip, venv' 2>/dev/null \
	    || { echo "Python's venv module is missing; on Debian or Ubuntu: apt-get install python3-venv" >&2; exit 2; }
	@echo "Setting up $(1) from $(2); once, a minute or two"
	@rm -rf $(1)
	@if test -n "$(UV)"; then \
	    uv venv --quiet --python "$$($(PYTHON) -c 'import sys; print(sys.executable)')" $(1); \
	    VIRTUAL_ENV=$(1) uv pip install --quiet --no-deps --require-hashes -r $(2); \
	else \
	    $(PYTHON) -m venv $(1); \
	    $(1)/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --require-hashes -r $(2); \
	fi
endef

# $(call install,FOLDER,WHAT) adds this package itself to an environment, without asking an index.
define install
	@if test -n "$(UV)"; then VIRTUAL_ENV=$(1) uv pip install --quiet --no-index --no-deps --no-build-isolation $(2); \
	else $(1)/bin/python -m pip install --quiet --disable-pip-version-check --no-index --no-deps --no-build-isolation $(2); fi
endef

$(DEMO)/ready: requirements.lock pyproject.toml
	$(call environment,$(DEMO),requirements.lock)
	$(call install,$(DEMO),--editable .)
	@touch $@

$(TEST)/ready: requirements-dev.lock pyproject.toml
	$(call environment,$(TEST),requirements-dev.lock)
	$(call install,$(TEST),--editable .)
	@touch $@

# --- the commands ----------------------------------------------------------------------------------------------------

demo: $(DEMO)/ready ## plan, compute and judge the demo day; results in out/larkmere
	$(DEMO)/bin/patency demo --out out/larkmere

serve: $(DEMO)/ready ## open the bench in a browser; department and ledger in out/bench
	$(DEMO)/bin/patency serve --in out/bench

test: $(TEST)/ready ## run all tests, quick ones first
	$(run-tests)

# One process for each core; a file stays in one of them. Measures coverage on the way, so that `make check` need not run
# everything again.
define run-tests
	$(BIN)/pytest -q --numprocesses=auto --dist=loadfile --no-loadscope-reorder --cov --cov-report= --junitxml=$(TEST)/tests.xml
	@touch $(TEST)/tested
endef

$(TEST)/tested: $(TEST)/ready $(shell find src tests docs README.md -type f -not -path '*/__pycache__/*' -not -path '*/_build/*' -not -name '* *')
	$(run-tests)

# --- everything the CI runs -------------------------------------------------------------------------------------------

check: formatted linted typed layered described spelled documented installed covered ## run every gate

formatted: $(TEST)/ready
	$(BIN)/ruff format --check

linted: $(TEST)/ready
	$(BIN)/ruff check

typed: $(TEST)/ready
	$(BIN)/mypy

layered: $(TEST)/ready
	$(BIN)/lint-imports --no-logo

described: $(TEST)/ready
	$(BIN)/pydoclint --quiet src

spelled: $(TEST)/ready
	$(BIN)/typos

documented: $(TEST)/ready
	$(BIN)/sphinx-build --quiet --fail-on-warning --keep-going docs docs/_build/html

installed: $(TEST)/ready
	rm -rf dist
	$(BIN)/python -m build --wheel --no-isolation --outdir dist . >/dev/null
	$(call environment,$(WHEEL),requirements.lock)
	$(call install,$(WHEEL),dist/*.whl)
	cd / && $(abspath $(WHEEL))/bin/patency --version && $(abspath $(WHEEL))/bin/patency --help >/dev/null
	rm -rf $(WHEEL)

covered: $(TEST)/tested
	@short=; measure() { $(BIN)/coverage report --include="src/patency/$$1/*" --format=total --precision=1 $${2:-}; }; \
	for room in $(COVERED); do \
	    printf '%-12s' $$room; measure $$room --fail-under=95 || short="$$short $$room"; \
	done; \
	for room in $(SHOWN); do printf '%-12s' $$room; measure $$room; done; \
	test -z "$$short" || { echo "Less than 95 % of lines and branches are tested in:$$short" >&2; exit 1; }

# --- small help ------------------------------------------------------------------------------------------------------

format: $(TEST)/ready ## put the source into the common form
	$(BIN)/ruff check --fix
	$(BIN)/ruff format

docs: documented ## build the pages into docs/_build/html

bench: $(TEST)/ready ## measure how flow and planning behave with size; takes minutes
	$(BIN)/python -m benchmarks.flow_single
	$(BIN)/python -m benchmarks.flow_batch --plot
	$(BIN)/python -m benchmarks.flow_workers
	$(BIN)/python -m benchmarks.single_faults
	$(BIN)/python -m benchmarks.margin
	$(BIN)/python -m benchmarks.reach
	$(BIN)/python -m benchmarks.plan_scale
	$(BIN)/python -m benchmarks.commissioning --trials 100
	$(BIN)/python -m benchmarks.rejudge 120 4

words: $(TEST)/ready ## collect what the bench says into its catalogues and compile them
	$(BIN)/python docs/make_words.py

LOCK := uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate pyproject.toml

lock: ## pin the newest versions that pyproject.toml allows
	@test -n "$(UV)" || { echo "make lock needs uv" >&2; exit 2; }
	$(LOCK) --upgrade --extra dev -o requirements-dev.lock
	$(LOCK) --upgrade --extra build -c requirements-dev.lock -o requirements.lock

clean: ## remove environments, caches and results
	rm -rf .venv-* .*_cache .coverage* .hypothesis build dist out docs/_build
