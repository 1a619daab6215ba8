"""What became of repairs: cured at once, came back, by kind and cause."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from shop.jobs.models import Job, JobCause, JobReading, StageVisit, Unit
from shop.pages.job.earlier_views import beside
from shop.planning import repair_outcomes
from shop.planning.repair_outcomes import Uncured

pytestmark = pytest.mark.django_db


def repaired(now, kind="receiver", cause="", *, again=False, days=10):
    """A released job, long past the door; with `again` it went back from the soak to the bench."""
    unit = Unit.objects.create(make="Corvenby", model="C 4")
    closed = now - timedelta(days=days)
    job = Job.objects.create(
        unit=unit,
        kind=kind,
        stage="released",
        received_at=closed - timedelta(days=5),
        stage_since=closed,
        closed_at=closed,
    )
    if cause:
        JobCause.objects.create(job=job, suspect=cause, kind=kind)
    to = "opened" if again else "released"
    StageVisit.objects.create(job=job, stage="soaking", entered_at=closed, left_at=closed, to=to)
    return job


def back(job, now):
    return Job.objects.create(
        unit=job.unit, kind=job.kind, returned_from=job, received_at=now, stage_since=now
    )


def test_cured_at_once_is_what_neither_went_back_nor_came_back(now):
    repaired(now)
    repaired(now, again=True)
    back(repaired(now), now)
    back(repaired(now, again=True), now)
    [row] = repair_outcomes.by_unit_kind(Uncured.at(now))
    assert (row.name, row.released, row.cured, row.back) == ("receiver", 4, 1, 2)
    assert row.cured_rate.rate == 0.25
    assert row.back_rate.rate == 0.5


def test_the_range_is_the_exact_one(now):
    """Clopper-Pearson for 0 of 10 at 95 %: 0 to 0.3085 (NIST/SEMATECH handbook 7.2.4)."""
    for _ in range(10):
        repaired(now)
    share = repair_outcomes.by_unit_kind(Uncured.at(now))[0].back_rate
    assert (share.low, round(share.high, 4)) == (0.0, 0.3085)


def test_by_cause_a_repair_with_two_counts_for_both(now):
    job = repaired(now, cause="dry-joint")
    JobCause.objects.create(job=job, suspect="output-relay", kind="receiver")
    repaired(now, cause="dry-joint")
    repaired(now)
    assert [(row.name, row.released) for row in repair_outcomes.by_cause(Uncured.at(now))] == [
        ("dry joint", 2),
        ("output relay", 1),
    ]


def test_a_unit_that_came_back_twice_is_one_that_came_back(now):
    job = repaired(now)
    back(job, now)
    back(job, now)
    [row] = repair_outcomes.by_unit_kind(Uncured.at(now))
    assert (row.released, row.back) == (1, 1)


def test_what_is_older_than_two_years_and_what_was_withdrawn_do_not_count(now):
    repaired(now, days=731)
    job = repaired(now)
    Job.objects.filter(pk=job.pk).update(stage="withdrawn")
    assert repair_outcomes.by_unit_kind(Uncured.at(now)) == []


def test_the_page_says_it(client, people, now):
    client.force_login(people.viewer)
    assert "Nothing was released yet" in client.get(reverse("flow")).content.decode()
    repaired(now, kind="", cause="dry-joint")
    text = client.get(reverse("flow")).content.decode()
    assert "kind not noted" in text
    assert "dry joint" in text
    assert "range 3 % to 100 %" in text  # Clopper-Pearson for 1 of 1: 0.025 to 1


class TestThenAndNow:
    def test_readings_stand_side_by_side_with_their_change(self, bench, now):
        first = bench.receive(make="Corvenby", model="C 4", serial="S1")
        for value in (80.0, 50.0):
            bench.record(
                first, "reading_taken", quantity="offset_millivolts", value=value, unit="mV"
            )
        bench.record(first, "reading_taken", quantity="earth_ohms", value=0.1, unit="ohm")
        second = bench.receive(make="Corvenby", model="C 4")
        bench.record(second, "reading_taken", quantity="offset_millivolts", value=75.0, unit="mV")
        bench.record(second, "reading_taken", quantity="rail_volts", value=40.0, unit="V")
        rows = beside(bench.job(second), bench.job(first))
        assert [(row.quantity, row.then, row.now, row.change) for row in rows] == [
            ("offset_millivolts", "50 mV", "75 mV", "+50 %"),
            ("earth_ohms", "0.1 ohm", "", ""),
            ("rail_volts", "", "40 V", ""),
        ]
        assert JobReading.objects.exists()

    @pytest.mark.parametrize(("then", "now"), [((0.0, "V"), (1.0, "V")), ((1.0, "V"), (1.0, "mV"))])
    def test_a_change_that_has_no_sense_is_not_told(self, bench, then, now):
        first, second = bench.receive(), bench.receive()
        for number, (value, unit) in ((first, then), (second, now)):
            bench.record(number, "reading_taken", quantity="ripple", value=value, unit=unit)
        assert beside(bench.job(second), bench.job(first))[0].change == ""

    def test_a_first_visit_has_no_such_page(self, client, people, job):
        client.force_login(people.viewer)
        assert client.get(reverse("earlier", args=[job])).status_code == 404
