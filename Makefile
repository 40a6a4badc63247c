PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/ready

# Test files that mesh, solve, draw or start processes; `make quick` leaves them out.
SLOW := accuracy axisymmetric_report axisymmetric_view board_edits board_feedback board_loop board_variant bounds broadband browser budgets cli cluster \
	doc_samples documents effort electrostatics emission_sources emission_study explore_page extraction fields figures forms \
	fuzz gallery golden_study kills layout_emission layout_variant linear lists mesh moment_curve needs notebook one_loop_of_record packaging \
	pickup_report placed_edge plan \
	plan_converged plan_joined plan_operator plan_potentials plan_reading plan_solve plan_ties processes readme refinement \
	report_files resumed_comparison ringing_pickup real_planes rounds section_loop sharing study sweep switched tolerance unsolved \
	variant_moment victim_pickup view_comparison views whole_loop whole_loop_report

.PHONY: help demo test quick lint bench validation-page gallery clean

help:
	@echo "make demo    compare the built-in layouts and write a report (sets everything up first)"
	@echo "make test    run every test and every check against reference values"
	@echo "make quick   ruff and the tests that mesh nothing, in a minute at most: for before a commit"
	@echo "make lint    ruff, mypy and the import contracts"
	@echo "make bench   time the solver beside a general-purpose one, which it installs (not part of make test)"
	@echo "make validation-page   run the reference checks and rewrite docs/validation.md"
	@echo "make gallery   run the studies of docs/gallery.md and rewrite it with its pictures (minutes)"
	@echo "make clean   remove the environment, the caches and the demonstration's report"
	@echo "Another Python (3.11 or newer): make demo PYTHON=python3.12"

demo: $(READY)
	$(BIN)/copperfield demo

# Two workers, so each keeps to one thread of linear algebra; figures are drawn without a display.
test: export MPLBACKEND := Agg
test: export OMP_NUM_THREADS := 1
test: export OPENBLAS_NUM_THREADS := 1
test: $(READY)
	$(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder

# The fast lane, for before a commit; `make test` runs everything.
quick: export MPLBACKEND := Agg
quick: export OMP_NUM_THREADS := 1
quick: export OPENBLAS_NUM_THREADS := 1
quick: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/python -m pytest -q -n 2 tests $(SLOW:%=--ignore=tests/test_%.py)

lint: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# Renew the page of reference values beside ours; the checks themselves write it.
validation-page: $(READY)
	$(BIN)/python -m pytest -q -n 2 validation --reference-page docs/validation.md

# Renew the studies' page and pictures; the program itself writes them.
gallery: $(READY)
	$(BIN)/copperfield gallery -o docs

bench: $(READY)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[bench]'
	$(BIN)/python validation/bench.py

clean:
	rm -rf $(VENV) .mypy_cache .pytest_cache .ruff_cache .import_linter_cache build dist copperfield-demo
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

# Set up once, and again only when what is to be installed has changed.
$(READY): pyproject.toml .ci/environment .ci/system-libraries
	@bash .ci/environment "$(PYTHON)" "$(VENV)"
	@bash .ci/system-libraries "$(BIN)/python"
	@touch $@
