# make holder   build a real 8x10 holder from presets/ into out/
# make test     run every test
# make lint     style and types
# make gallery  redraw docs/gallery.md and its pictures
# make bench    measure the speed ratios and print them as one table
# make stress   attack it: spoilt presets and pictures, runs killed, disks full

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: holder test lint gallery bench stress lists clean

holder: $(VENV)/.run
	$(BIN)/holders make presets/8x10-printed.toml --out out

test: $(VENV)/.dev
	$(BIN)/python -m pytest -n 2 --dist worksteal -q

lint: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

gallery: $(VENV)/.run
	$(BIN)/python scripts/gallery.py

lists: $(VENV)/.run
	$(BIN)/python scripts/list_checks.py
	$(BIN)/python scripts/preset_schema.py

bench: $(VENV)/.dev
	$(BIN)/python scripts/bench.py

# minutes to an hour: attacks that the tests run in a short form
stress: $(VENV)/.dev
	$(BIN)/python scripts/stress_presets.py --count 100000
	$(BIN)/python scripts/stress_images.py
	$(BIN)/python scripts/stress_make.py

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "holders needs Python 3.11 or newer: install it, then make PYTHON=python3.11 ..."; exit 3; }
	@$(PYTHON) -m venv $(VENV) || \
	  { rm -rf $(VENV); echo "Python cannot make a virtual environment; on Debian: apt install python3-venv"; exit 3; }

# one stamp for running, a further one for testing, so that making a holder installs no test tools
$(VENV)/.run: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install -q --disable-pip-version-check -c constraints.txt -e .
	@touch $@

$(VENV)/.dev: $(VENV)/.run
	$(BIN)/python -m pip install -q --disable-pip-version-check -c constraints.txt -e '.[dev]'
	@touch $@

clean:
	rm -rf $(VENV) build *.egg-info
