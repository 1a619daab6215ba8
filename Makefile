# Benchtag: everything goes through here.  Needs Python 3.11 or newer with venv, and make.
PYTHON ?= python3
PORT ?= 8000
VENV := .venv
BIN := $(VENV)/bin
SERVICES_DATABASE ?= postgres://root@127.0.0.1:5432/benchtag
WEB_TOOLS := tests/lint/node_modules
SERVICES_REDIS ?= redis://127.0.0.1:6379/5

# Where a machine forbids it, each process would compile every module anew.
unexport PYTHONDONTWRITEBYTECODE

# Tests spread over the cores, each worker with a database of its own; WORKERS=0 runs them in one.
WORKERS ?= auto
PYTEST = $(BIN)/python -m pytest -n $(WORKERS) --dist worksteal

.PHONY: setup demo shop quick test long twin coverage services-test services-coverage services-database bench bench-load bench-mains bench-search bench-forecast bench-peers lint lint-style lint-types lint-rules screenshots pins versions wheel clean

setup: $(VENV)/.developer ## make .venv with the pinned dependencies

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed")'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.runtime: requirements.txt | $(VENV)/bin/python
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements.txt
	touch $@

$(VENV)/.developer: requirements-dev.txt | $(VENV)/bin/python
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.txt
	touch $@ $(VENV)/.runtime

demo: $(VENV)/.runtime ## a demo shop on http://127.0.0.1:8000/
	$(BIN)/python manage.py quickstart --port $(PORT)

DATA ?= ~/bench

shop: $(VENV)/.runtime ## a shop of your own in DATA
	$(BIN)/python manage.py quickstart --empty --port $(PORT) --data $(DATA)

quick: $(VENV)/.developer ## style, and the tests that need no database, browser, other process or patience
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(PYTEST) -m "not database and not browser and not process and not long and not slow and not twin"

TESTS ?= not slow and not twin

test: $(VENV)/.developer ## the suite on SQLite, with few random examples, without what is slow
	$(PYTEST) -m "$(TESTS)"

long: $(VENV)/.developer ## the tests that draw their examples, with many, and those that are slow
	BENCHTAG_SEQUENCES=$${BENCHTAG_SEQUENCES:-1000} BENCHTAG_EXAMPLES=$${BENCHTAG_EXAMPLES:-300} $(PYTEST) -m "(random or slow) and not twin"

# What the areas where a fault is dangerous must have; the whole has its floor in pyproject.toml.
COVERED = checklists/engine shop/bench shop/jobs/commands shop/jobs/ledger.py

twin: $(VENV)/.developer ## a few thousand moves of random but honest hands on units with a true charge and true faults
	$(PYTEST) -m twin tests/twin

coverage: $(VENV)/.developer ## the suite without browser and what is slow, with the lines and branches that it runs
	$(BIN)/coverage erase
	$(PYTEST) --cov --cov-report= -m "not slow and not twin and not browser and not process"
	$(BIN)/coverage report --skip-covered --skip-empty
	@for area in $(COVERED); do printf '%s, at least 95 %%: ' $$area; \
	$(BIN)/coverage report --format=total --fail-under=95 --include="$$area,$$area/*" || exit 1; done

ON_SERVICES = BENCHTAG_DATABASE_URL=$(SERVICES_DATABASE) BENCHTAG_REDIS_URL=$(SERVICES_REDIS)

services-test: $(VENV)/.developer ## the suite on PostgreSQL and Redis
	$(ON_SERVICES) $(PYTEST)

services-coverage: $(VENV)/.developer ## the same, with coverage
	$(ON_SERVICES) $(MAKE) coverage

# What the services see of the suite: the rest is the same on both. Rooms without Django have no
# test on a database, and thousands without one.
ON_A_DATABASE ?= database and not slow and not twin and not browser and not process
WITHOUT_DATABASE = $(addprefix --ignore=tests/,bench checklists/engine published)

services-database: $(VENV)/.developer ## the tests that need a database, on PostgreSQL and Redis; what writes the record needs 95 %
	$(BIN)/coverage erase
	$(ON_SERVICES) $(PYTEST) --cov=shop/jobs --cov-report= --cov-fail-under=0 -m "$(ON_A_DATABASE)" $(WITHOUT_DATABASE)
	@for area in shop/jobs/commands shop/jobs/ledger.py; do printf '%s, at least 95 %%: ' $$area; \
	$(BIN)/coverage report --format=total --fail-under=95 --include="$$area,$$area/*" || exit 1; done

ANSWERS = $(BIN)/python -c 'import psycopg, sys; psycopg.connect(sys.argv[1], connect_timeout=3)' $(dir $(SERVICES_DATABASE))postgres 2>/dev/null
EXCUSED = for name in "note-over-bare-postgresql - 2" "sign-over-bare-postgresql - 2"; do echo "BUDGET $$name excused PostgreSQL does not answer"; done

bench: $(VENV)/.developer ## the budgets, a line each: moves, pages, imports, commands, memory, checklists
	$(BIN)/python -m tests.benchmarks.derive
	$(BIN)/python -m tests.benchmarks.move
	@if $(ANSWERS); then BENCHTAG_DATABASE_URL=$(SERVICES_DATABASE) $(BIN)/python -m tests.benchmarks.move; else $(EXCUSED); fi
	$(BIN)/python -m tests.benchmarks.floors
	$(BIN)/python -m tests.benchmarks.home
	$(BIN)/python -m tests.benchmarks.importing
	$(BIN)/python -m tests.benchmarks.processes
	@if $(MAKE) --no-print-directory $(VENV)-peers/.ready >/dev/null 2>&1; then $(MAKE) --no-print-directory bench-peers; else \
	for name in "seen-checklist - 0.25" "new-checklist - 3"; do echo "BUDGET $$name excused the engine beside it could not be installed"; done; fi

bench-search: $(VENV)/.developer ## search among 100,000 jobs
	$(BIN)/python -m tests.benchmarks.search

bench-load: $(VENV)/.developer ## 200 people on the services of compose.yaml; JOBS=1000000 for the large shop
	$(BIN)/python -m tests.benchmarks.load

bench-mains: $(VENV)/.developer ## mains off while an import runs, the database is locked, the disk is full
	$(BIN)/python -m tests.benchmarks.mains_off

bench-forecast: $(VENV)/.developer ## coverage of the finish ranges on a real record, when it is there
	$(BIN)/python -m tests.benchmarks.forecast

$(VENV)-peers/.ready: tests/benchmarks/requirements-peers.txt | $(VENV)/.developer
	$(PYTHON) -m venv --system-site-packages $(VENV)-peers
	$(VENV)-peers/bin/pip install --quiet --disable-pip-version-check --require-hashes -r tests/benchmarks/requirements-peers.txt
	touch $@

bench-peers: $(VENV)-peers/.ready ## the same rules in three general rule engines, installed for this
	PYTHONPATH="$$($(BIN)/python -c 'import sysconfig; print(sysconfig.get_path("purelib"))')" $(VENV)-peers/bin/python -m tests.benchmarks.peers

# The tools for style sheets and scripts come from npm, the versions from the lock file beside them.
$(WEB_TOOLS)/.package-lock.json: tests/lint/package-lock.json
	npm --prefix tests/lint ci --no-audit --no-fund --silent

lint: lint-style lint-types lint-rules ## style, types, layers, pages, migrations, rules and their proof; with --jobs side by side

lint-style: $(VENV)/.developer $(WEB_TOOLS)/.package-lock.json
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/djhtml --check --tabwidth 2 templates
	$(BIN)/djlint --lint --quiet --rules tests/lint/templates.yaml templates
	$(WEB_TOOLS)/.bin/biome check --error-on-warnings --config-path=tests/lint shop/site/static
	$(BIN)/lint-imports
	$(BIN)/python manage.py makemigrations --check --dry-run

lint-types: $(VENV)/.developer
	$(BIN)/mypy checklists shop

lint-rules: $(VENV)/.developer
	$(BIN)/python manage.py rules check
	$(BIN)/python manage.py rules prove

screenshots: $(VENV)/.developer ## the pictures of docs/, taken by the browser tests
	BENCHTAG_SCREENSHOTS=docs/screenshots $(BIN)/python -m pytest tests/browser -k "every_page or tutorial"

# One file for every Python and machine that the project runs on.
PIN = $(BIN)/uv pip compile pyproject.toml --universal --fork-strategy fewest --python-version 3.11 --generate-hashes --no-header -q

pins: $(VENV)/bin/python ## pin the dependencies of pyproject.toml anew
	$(BIN)/pip install --quiet --disable-pip-version-check uv
	$(PIN) --extra services --extra proof -o requirements.txt
	$(PIN) --extra dev -o requirements-dev.txt

# Pairs of Python and Django; all that there are when empty.
VERSIONS ?=

versions: $(VENV)/.developer ## the tests that a version can change, on other versions of Python and Django
	$(BIN)/python -m tests.project.versions $(VERSIONS)

wheel: $(VENV)/.developer ## dist/benchtag-*.whl, for other machines
	$(BIN)/hatchling build -t wheel -d dist

clean:
	rm -rf $(VENV) $(VENV)-versions dist $(VENV)-peers $(WEB_TOOLS) .pytest_cache .mypy_cache .ruff_cache .hypothesis .coverage*
