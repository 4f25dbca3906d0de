# make demo    set up what running needs, then the main job on the bundled example
# make lint    set up the developers' tools too, then format, lint, types and the order of the rooms
# make test    make lint, then every test of the everyday set
# make web     build the desk's page from web/ into the package
# make speed   the benches: milliseconds and ratios
# make oracles ask general-purpose libraries again what they say, and store it in tests/cross/data
# make pins    choose the newest versions again and write requirements/*.txt
# make clean   remove everything that was made here
#
# Everything lives in .venv; a stamp there says what is already in place. Another Python: make demo PYTHON=python3.13

PYTHON ?= python3
BIN := .venv/bin
STAMP := .venv/stamps
UV := $(BIN)/uv --quiet
INSTALL := $(UV) pip install --system-certs --python $(BIN)/python
COMPILE := $(UV) pip compile --system-certs --universal --python-version 3.11 --fork-strategy fewest \
	--generate-hashes --no-emit-index-url --no-header --upgrade
EXAMPLE := examples/attic-cinema
CANDIDATES := $(patsubst %,$(EXAMPLE)/%.yaml,twin stack trio)
WORKERS := $(shell test "$$(getconf _NPROCESSORS_ONLN 2>/dev/null || echo 2)" -gt 1 && echo 2 || echo 0)

.DEFAULT_GOAL := help
.PHONY: help demo lint test web speed oracles pins clean

help:
	@sed -n 's/^# make/make/p' Makefile

demo: $(STAMP)/project
	@mkdir -p $(EXAMPLE)/out
	@$(BIN)/forehear compare $(CANDIDATES) --report $(EXAMPLE)/out/report.html

lint: $(STAMP)/project $(STAMP)/dev
	@$(BIN)/ruff check --quiet .
	@$(BIN)/ruff format --check --quiet . || { echo "not formatted: run $(BIN)/ruff format ." >&2; exit 1; }
	@$(BIN)/mypy
	@$(BIN)/lint-imports --no-logo
	@$(BIN)/codespell
	@sh web/run.sh check

test: lint
	@sh tests/programs.sh
	@OPENBLAS_NUM_THREADS=1 $(BIN)/pytest -n $(WORKERS)

web: $(STAMP)/dev
	@sh web/run.sh build

speed: $(STAMP)/project $(STAMP)/dev
	@for bench in tests/speed/*.py; do echo; echo "$$bench"; $(BIN)/python "$$bench" || exit 1; done

oracles: $(STAMP)/uv requirements/oracles.txt
	@echo "installing what is asked, apart from the project"
	@$(UV) venv --clear --python $(BIN)/python .venv-oracles
	@$(UV) pip install --system-certs --python .venv-oracles/bin/python --no-deps --require-hashes -r requirements/oracles.txt
	@PYTHONPATH=src:tests .venv-oracles/bin/python tools/ask_oracles.py

pins: $(STAMP)/uv
	@$(COMPILE) requirements/uv.in -o requirements/uv.txt
	@$(COMPILE) pyproject.toml requirements/build.in -o requirements/run.txt
	@$(COMPILE) requirements/dev.in -o requirements/dev.txt
	@$(COMPILE) requirements/oracles.in -o requirements/oracles.txt

clean:
	rm -rf .venv .venv-oracles web/node_modules .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis dist out
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# A .venv that was moved or has lost its Python is made anew; what it cannot be made from is said in one sentence.
$(shell test "$$(cat $(STAMP)/place 2>/dev/null)" = "$$(pwd)" && $(BIN)/python -c '' 2>/dev/null || rm -rf $(STAMP))

$(STAMP)/uv: requirements/uv.txt
	@sh requirements/python.sh "$(PYTHON)"
	@echo "setting up .venv (once)"
	@"$(PYTHON)" -m venv --clear .venv
	@$(BIN)/python -m pip install -qq --disable-pip-version-check --no-deps --require-hashes -r requirements/uv.txt
	@mkdir -p $(STAMP) && pwd >$(STAMP)/place && touch $@

$(STAMP)/run: requirements/run.txt $(STAMP)/uv
	@echo "installing what running needs (once)"
	@$(INSTALL) --no-deps --require-hashes -r requirements/run.txt
	@touch $@

$(STAMP)/project: pyproject.toml $(STAMP)/run
	@$(INSTALL) --no-deps --no-build-isolation --editable .
	@touch $@

$(STAMP)/dev: requirements/dev.txt $(STAMP)/run
	@echo "installing the developers' tools (once)"
	@$(INSTALL) --no-deps --require-hashes -r requirements/dev.txt
	@touch $@
