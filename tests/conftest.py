from __future__ import annotations

import os

import pytest
from django.core.cache import cache
from django.db import connection
from django.utils import timezone
from hypothesis import HealthCheck, settings

from checklists import published
from shop.jobs import power_triggers
from shop.parts import append_only_triggers
from tests.helpers import Bench, TestPeople, amplifier

TRIGGERS = (power_triggers, append_only_triggers)

settings.register_profile(
    "default",
    deadline=None,
    max_examples=int(os.environ.get("BENCHTAG_EXAMPLES", "100")),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("default")


@pytest.fixture(autouse=True)
def _last_word_in_transactional_tests(request):
    """Emptying the tables after a transactional test is what the triggers forbid.

    So they are installed anew for such a test and taken away after it.
    """
    transactional = {"transactional_db", "live_server"} & set(request.fixturenames)
    marker = request.node.get_closest_marker("django_db")
    if not transactional and not (marker and marker.kwargs.get("transaction")):
        yield
        return
    request.getfixturevalue("transactional_db")
    for triggers in TRIGGERS:
        triggers.install(connection)
    yield
    for triggers in TRIGGERS:
        triggers.remove(connection)


@pytest.fixture(autouse=True)
def _no_edition_of_another_test():
    published.look_again()
    yield
    published.look_again()


@pytest.fixture(autouse=True)
def _nothing_cached_of_another_test():
    cache.clear()


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
