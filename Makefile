# Benchtag: everything goes through here.  Needs Python 3.11 or newer with venv, and make.
PYTHON ?= python3
PORT ?= 8000
VENV := .venv
BIN := $(VENV)/bin
SERVICES_DATABASE ?= postgres://root@127.0.0.1:5432/benchtag
WEB_TOOLS := tests/lint/node_modules
SERVICES_REDIS ?= redis://127.0.0.1:6379/5

.PHONY: setup demo test services-test bench bench-load bench-search bench-forecast bench-peers lint screenshots pins clean

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

test: $(VENV)/.developer ## the whole suite on SQLite
	$(BIN)/python -m pytest

services-test: $(VENV)/.developer ## the suite on PostgreSQL and Redis
	BENCHTAG_DATABASE_URL=$(SERVICES_DATABASE) BENCHTAG_REDIS_URL=$(SERVICES_REDIS) \
	BENCHTAG_SEQUENCES=$${BENCHTAG_SEQUENCES:-300} $(BIN)/python -m pytest

bench: $(VENV)/.developer ## ratios against bare CEL and the bare ORM, pages at 100,000 jobs
	$(BIN)/python -m tests.benchmarks.derive
	$(BIN)/python -m tests.benchmarks.move
	$(BIN)/python -m tests.benchmarks.home

bench-search: $(VENV)/.developer ## search among 100,000 jobs
	$(BIN)/python -m tests.benchmarks.search

bench-load: $(VENV)/.developer ## 200 people on the services of compose.yaml; JOBS=1000000 for the large shop
	$(BIN)/python -m tests.benchmarks.load

bench-forecast: $(VENV)/.developer ## coverage of the finish ranges on a real record, when it is there
	$(BIN)/python -m tests.benchmarks.forecast

bench-peers: $(VENV)/.developer ## the same rules in three general rule engines, installed for this
	$(PYTHON) -m venv --system-site-packages $(VENV)-peers
	$(VENV)-peers/bin/pip install --quiet --disable-pip-version-check --require-hashes -r tests/benchmarks/requirements-peers.txt
	PYTHONPATH="$$($(BIN)/python -c 'import sysconfig; print(sysconfig.get_path("purelib"))')" $(VENV)-peers/bin/python -m tests.benchmarks.peers

# The tools for style sheets and scripts come from npm, the versions from the lock file beside them.
$(WEB_TOOLS)/.package-lock.json: tests/lint/package-lock.json
	npm --prefix tests/lint ci --no-audit --no-fund --silent

lint: $(VENV)/.developer $(WEB_TOOLS)/.package-lock.json ## style, types, layers, pages, migrations, rules and their proof
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/djhtml --check --tabwidth 2 templates
	$(BIN)/djlint --lint --quiet --rules tests/lint/templates.yaml templates
	$(WEB_TOOLS)/.bin/biome check --error-on-warnings --config-path=tests/lint shop/site/static
	$(BIN)/mypy checklists shop
	$(BIN)/lint-imports
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(BIN)/python manage.py rules check
	$(BIN)/python manage.py rules prove

screenshots: $(VENV)/.developer ## the pictures of docs/, taken by the browser tests
	BENCHTAG_SCREENSHOTS=docs/screenshots $(BIN)/python -m pytest tests/browser -k every_page

pins: ## pin the dependencies of pyproject.toml anew (needs uv)
	uv pip compile pyproject.toml --python-version 3.11 --generate-hashes --no-header -q -o requirements.txt
	uv pip compile pyproject.toml --extra dev --python-version 3.11 --generate-hashes --no-header -q -o requirements-dev.txt

clean:
	rm -rf $(VENV) $(VENV)-peers $(WEB_TOOLS) .pytest_cache .mypy_cache .ruff_cache .hypothesis
