# make demo: the whole loop on the example job.  make test: all linters and tests.
# Needs python3 (3.11 or newer) with venv, make, git; on Debian also libgl1 libx11-6 libexpat1,
# and chromium chromium-driver for the tests of the pages.

VENV   := .venv
BIN    := $(VENV)/bin
JOBS   ?= 2
DEMO   ?= demo-job

.PHONY: demo test lint benchmark validation wheel clean

demo: $(VENV)/.installed
	$(BIN)/firstoff demo $(DEMO)

test: $(VENV)/.installed-for-tests
	$(BIN)/ruff check .
	$(BIN)/mypy
	OPENBLAS_NUM_THREADS=1 $(BIN)/pytest -q -n $(JOBS) --dist loadfile -p no:benchmark

lint: $(VENV)/.installed-for-tests
	$(BIN)/ruff check .
	$(BIN)/mypy

benchmark: $(VENV)/.installed-for-benchmarks
	$(BIN)/pytest -q benchmarks

validation: $(VENV)/.installed-for-tests
	OPENBLAS_NUM_THREADS=1 $(BIN)/python scripts/validate.py

wheel: $(VENV)/.installed
	$(BIN)/pip wheel --quiet --no-deps --wheel-dir dist .

clean:
	rm -rf $(VENV) dist build .mypy_cache .ruff_cache .pytest_cache

# Installed once, and again only when pyproject.toml is newer: afterwards nothing needs the network.
$(VENV)/.made:
	@python=$$(PYTHON="$(PYTHON)" tools/choose-python) && "$$python" -m venv $(VENV)
	@touch $@

$(VENV)/.installed: $(VENV)/.made pyproject.toml
	@echo "Installing into $(VENV) (once)"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable . \
	    || { echo "Could not install: is the package registry within reach?" >&2; exit 1; }
	@$(BIN)/python -m compileall -q src/firstoff     # else every start compiles all it imports: 0.2 s
	@touch $@

$(VENV)/.installed-for-benchmarks: $(VENV)/.installed-for-tests
	@echo "Installing what is measured against into $(VENV) (once)"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[test,benchmark]' \
	    || { echo "Could not install: is the package registry within reach?" >&2; exit 1; }
	@touch $@

$(VENV)/.installed-for-tests: $(VENV)/.installed
	@echo "Installing what the tests need into $(VENV) (once)"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[test]' \
	    || { echo "Could not install: is the package registry within reach?" >&2; exit 1; }
	@touch $@
