# make holder   build a real 8x10 holder from presets/ into out/
# make test     run every test
# make kernels  the numerical tests again, under another processor's BLAS routines
# make lint     style and types
# make gallery  redraw docs/gallery.md and its pictures
# make lock     lock the requirements again, after a change of pyproject.toml
# make bench    measure the speed ratios and print them as one table
# make mutants  change one thing in the code, some 200 times, and see whether the room's own tests find it
# make stress   attack it: spoilt presets and pictures, runs killed, disks full

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: holder test kernels lint gallery lock bench stress mutants lists clean

holder: $(VENV)/.run
	$(BIN)/holders make presets/8x10-printed.toml --out out

test: $(VENV)/.dev
	$(BIN)/python -m pytest -n 2 --dist worksteal -q

kernels: $(VENV)/.dev
	$(BIN)/python scripts/other_kernels.py -n 2 --dist worksteal

lint: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

gallery: $(VENV)/.run
	$(BIN)/python scripts/gallery.py

lists: $(VENV)/.run
	$(BIN)/python scripts/list_checks.py
	$(BIN)/python scripts/preset_schema.py

lock: $(VENV)/.dev
	$(BIN)/python scripts/lock.py

bench: $(VENV)/.dev
	$(BIN)/python scripts/bench.py

# hours: attacks that the tests run in a short form; `stress.py` goes on where it was stopped (scripts/stress_kept)
stress: $(VENV)/.dev
	$(BIN)/python scripts/stress.py grammar --count 100000
	$(BIN)/python scripts/stress.py carriers --count 5000
	$(BIN)/python scripts/stress.py presets --count 100000
	$(BIN)/python scripts/stress.py flat --count 100000
	$(BIN)/python scripts/stress.py whole --count 2000
	$(BIN)/python scripts/stress.py made --count 500
	$(BIN)/python scripts/stress.py scans --count 5000
	$(BIN)/python scripts/stress_soak.py --changes 2000
	$(BIN)/python scripts/stress_make.py
	$(BIN)/python scripts/stress_faults.py

# an hour or more of the processor; it goes on where it was stopped
mutants: $(VENV)/.dev
	$(BIN)/python -m pip install --quiet -r scripts/mutants-requirements.txt
	nice -n 10 $(BIN)/python scripts/mutants.py

# one stamp for running, a further one for testing, so that making a holder installs no test tools
$(VENV)/.run: pyproject.toml requirements.txt scripts/set_up.py
	@$(PYTHON) scripts/set_up.py --venv $(VENV)
	@touch $@

$(VENV)/.dev: pyproject.toml requirements-dev.txt scripts/set_up.py
	@$(PYTHON) scripts/set_up.py --venv $(VENV) --dev --quiet
	@touch $@ $(VENV)/.run

clean:
	rm -rf $(VENV) build *.egg-info
