# Every command makes what it needs on its first run (.venv, and for the tests a browser) and is safe to repeat.
# ARGS adds to a command: make test ARGS="tests/pages -k scan"

PYTHON3 ?= python3
PY := .venv/bin/python
PRODUCTION := BLOCKYARD_MODE=production DJANGO_ALLOWED_HOSTS=blockyard.example \
	DJANGO_SECRET_KEY=only-for-the-check-of-the-settings-0123456789-abcdefghijklmnop

.DEFAULT_GOAL := help
.PHONY: help demo test storm check lint format bench prepare

help:  ## these lines
	@sed -n 's/^\([a-z]*\):.*  ## \(.*\)/make \1\t\2/p' $(MAKEFILE_LIST)

demo:  ## the made-up shop on this machine, with its address and sign-in names
	$(PYTHON3) manage.py demo $(ARGS)

test: prepare  ## all tests, in a real browser too (DATABASE_URL: on that database)
	$(PY) tests/debian_browser.py
	$(PY) -m pytest -n 2 $(ARGS)

storm: prepare  ## sixteen stations, five hundred acts each, at once, and a server killed twice
	STORM_ACTS=500 $(PY) -m pytest $(ARGS) tests/pages/test_storm.py

check: lint test  ## what a change must pass: lint, types, migrations, production settings, all tests

lint: prepare  ## the quick half of check
	$(PY) -m ruff check
	$(PY) -m ruff format --check --quiet
	$(PY) -m mypy
	$(PY) manage.py makemigrations --check --dry-run
	$(PRODUCTION) $(PY) manage.py check --deploy --fail-level WARNING

format: prepare  ## put the code in the house's layout
	$(PY) -m ruff check --fix
	$(PY) -m ruff format

bench: prepare  ## every benchmark in turn
	$(PY) -m pip install --quiet --require-hashes --requirement tests/bench/requirements.txt
	for bench in tests/bench/bench_*.py; do PYTHONPATH=. $(PY) $$bench || exit 1; done

prepare:
	@$(PYTHON3) manage.py prepare
