from __future__ import annotations

import os
import re
import secrets
from functools import partial
from pathlib import Path

import pytest
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.cache import cache
from django.db import connection
from django.test import TransactionTestCase
from django.utils import timezone
from hypothesis import HealthCheck, is_hypothesis_test, settings

from checklists import published
from shop.jobs.commands import postponing
from shop.lib.web import busy_database, kept
from shop.preferences import current
from tests import migrated
from tests.helpers import Bench, TestPeople, amplifier
from tests.helpers_demo import empty_the_shop, put_in, rows_of_the_demo
from tests.helpers_instruments import CLAMP, instrument
from tests.helpers_plain import EXAMPLES

settings.register_profile(
    "default",
    deadline=None,
    max_examples=EXAMPLES,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("default")


# Where the two databases may differ: locks, triggers, big queries, bulk writes, search.
ON_POSTGRESQL = re.compile(
    r"backups|faults|jobs/(?:commands|test_)|pages/job/|planning|races|reminders|search|site|transfer"
)


def pytest_configure():
    # Set before the workers start, so that all of them draw from the same one.
    os.environ.setdefault("BENCHTAG_SEED", str(secrets.randbelow(2**32)))


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection_modifyitems(items):
    """Mark each test by what it needs, and put them in order by that and by nothing else.

    The order comes after all other hooks: pytest and its plugins order by fixtures too, and a
    parameter that shares its name with a fixture of the browser would take its test along.
    """
    for item in items:
        if _uses_database(item):
            item.add_marker("database")
            if _meets_postgresql(item):
                item.add_marker("postgresql")
        if is_hypothesis_test(getattr(item, "obj", None)):
            item.add_marker("random")
    yield
    items.sort(key=_turn)


def _uses_database(item):
    fixtures = {"db", "transactional_db", "live_server"} & set(item.fixturenames)
    return bool(fixtures or item.get_closest_marker("django_db"))


def _meets_postgresql(item):
    """Whether CI runs a test of a database on PostgreSQL too."""
    if any(item.get_closest_marker(kind) for kind in ("process", "slow", "twin")):
        return False
    path = item.path.relative_to(Path(__file__).parent).as_posix()
    declared = item.get_closest_marker("django_db")
    transactions = "transactional_db" in item.fixturenames or (
        declared and declared.kwargs.get("transaction")
    )
    return bool(ON_POSTGRESQL.match(path) or (transactions and not path.startswith("browser")))


def _turn(item):
    """Whatever takes long by itself first: at the end the workers then finish together."""
    kinds = ("twin", "slow", "long", "browser", "process", "database")
    return next((n for n, kind in enumerate(kinds) if item.get_closest_marker(kind)), len(kinds))


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_keepdb):
    """On SQLite a database of the run is there before the run sets it up."""
    return django_db_keepdb or connection.vendor == "sqlite"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings):
    if connection.vendor == "sqlite":
        migrated.put_at(Path(connection.settings_dict["TEST"]["NAME"]))


@pytest.fixture(scope="session", autouse=True)
def _tests_empty_what_they_filled():
    """Django empties every table after a test with transactions: seconds on PostgreSQL."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lambda case: empty_the_shop())
        yield


@pytest.fixture(scope="session", autouse=True)
def _static_files_as_in_the_shop():
    """Let the live server of the tests serve what the shop serves, at the same addresses."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(StaticFilesHandler, "_should_handle", lambda handler, path: False)
        yield


@pytest.fixture(autouse=True)
def _no_edition_of_another_test():
    published.refresh()
    yield
    published.refresh()


@pytest.fixture(autouse=True)
def _no_settings_of_another_test():
    """Nothing is decided on the page, and nobody looks until something is."""
    current.known_to_be_unset()


@pytest.fixture(autouse=True)
def _nothing_cached_of_another_test():
    cache.clear()
    kept.forget()


@pytest.fixture(autouse=True)
def _no_fault_of_another_test(monkeypatch):
    """What a test lets the database refuse is kept for nobody, and written by no thread."""
    monkeypatch.setattr(postponing, "start", lambda: None)
    postponing._waiting.clear()
    busy_database._found_full.clear()


@pytest.fixture
def now():
    return timezone.now()


@pytest.fixture
def people(db):
    return TestPeople.make()


@pytest.fixture
def bench(people):
    """A technician's hands on the commands."""
    return Bench(people.technician)


@pytest.fixture
def job(bench):
    """A plain class AB amplifier, all its facts known, nothing wrong but the complaint."""
    return bench.receive(facts=amplifier())


@pytest.fixture(scope="session")
def demo_rows(request, tmp_path_factory, django_db_setup, django_db_blocker):
    """The demo shop, written once for all workers of a run."""
    folder = tmp_path_factory.getbasetemp()
    if hasattr(request.config, "workerinput"):
        folder = folder.parent
    with django_db_blocker.unblock():
        return rows_of_the_demo(folder)


@pytest.fixture
def demo_shop(demo_rows, db):
    """The demo shop in the database of this test."""
    put_in(demo_rows)


@pytest.fixture
def steady_rules(monkeypatch):
    """Look the edition of the rules up once: on a slow day a count of queries must not see the
    look that is due every two seconds."""
    monkeypatch.setattr(published, "FRESH_SECONDS", 3600.0)


@pytest.fixture
def add_instrument(people):
    return partial(instrument, by=people.owner)


@pytest.fixture
def clamp(add_instrument):
    """An ordinary clamp for protective earth."""
    return add_instrument("Earth clamp", CLAMP, make_model="Orrery EC 2", serial="0042")
