"""What the bar of a job says of its plug, and which gate comes next."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.pages.job.stations import next_gate, stations
from tests.helpers import flat

pytestmark = pytest.mark.django_db

UNKNOWN = "not known: treat as live"


@pytest.fixture
def page(client, people, job):
    client.force_login(people.technician)
    return lambda: flat(client.get(reverse("job", args=[job])).content.decode())


def test_a_plug_that_nobody_recorded_is_not_out(page):
    assert UNKNOWN in page()


def test_it_is_out_once_it_was_signed_in_sight(page, bench, job):
    bench.pass_steps(job, "unplugged-lead-in-sight")
    assert "plug out" in page()
    assert UNKNOWN not in page()


def test_under_mains_it_says_which(page, bench, job):
    bench.limited(job)
    assert "power-limited" in page()
    bench.power(job, "isolated")
    assert "power-isolated" in page()


def test_the_next_gate_is_the_first_shut_one_ahead(bench, job):
    ahead = next_gate(stations(bench.traveller(job)))
    assert ahead is not None
    assert ahead.name == "first-power"
    bench.pass_gate(job, "first-power")
    assert next_gate(stations(bench.traveller(job))).name != "first-power"
