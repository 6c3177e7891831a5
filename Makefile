# Two commands do all their own set-up: `make demo` and `make test`.
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin

.PHONY: demo test check fix clean

demo: $(VENV)/.ready
	$(BIN)/coutil make examples/sea-green.toml -o demo --force

# Three tests at a time on two cores: browsers, databases and killed processes are waited for a good part of the time.
test: $(VENV)/.ready-test
	.ci/needs
	$(BIN)/ruff format --check src tests bench
	$(BIN)/ruff check src tests bench
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/pytest -n 3

fix: $(VENV)/.ready-test
	$(BIN)/ruff format src tests bench
	$(BIN)/ruff check --fix src tests bench

# The page is part of the package: what it is made from counts as well.
PAGE = $(shell find frontend -name node_modules -prune -o -type f ! -name .built -print)

$(VENV)/.ready: pyproject.toml hatch_build.py $(PAGE)
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	touch $@

$(VENV)/.ready-test: $(VENV)/.ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e ".[test]"
	touch $@

clean:
	rm -rf $(VENV) demo build dist .pytest_cache .mypy_cache .ruff_cache
