"""One unit at one moment: received, corrected, joined and closed by two, it has one open job."""

from __future__ import annotations

import pytest
from django.utils import timezone

from checklists.engine.words import HAND_BACK
from shop.jobs import commands
from shop.jobs.models import Job
from shop.lib.refusals import Refused
from tests.helpers import amplifier
from tests.races.test_races import ROUNDS, assert_intact, together, unexpected

pytestmark = pytest.mark.django_db(transaction=True)


def test_one_unit_received_twice_at_once_has_one_open_job(bench, other):
    for place in range(ROUNDS):
        named = {"make": "Corvenby", "model": "Spool 3", "serial": f"K-{place}"}
        results = together(
            lambda n=named: bench.receive(**n),
            lambda n=named: other.receive(**n | {"make": "corvenby"}),
            lambda n=named: bench.receive(**n),
        )
        assert unexpected(results) == []
        [number] = [r for r in results if isinstance(r, int)]
        assert_intact(number)
        assert list(Job.objects.filter(unit=bench.job(number).unit_id)) == [bench.job(number)]


def test_two_who_join_one_unit_at_once_both_write_to_one_job(bench, other):
    for place in range(ROUNDS):
        named = {"make": "Corvenby", "model": "Spool 3", "serial": f"K-{place}", "join": True}
        results = together(
            *(lambda n=named, w=who: w.receive(complaint="hums", **n) for who in (bench, other))
        )
        assert unexpected(results) == []
        assert results[0] == results[1]
        assert assert_intact(results[0]).count("complaint_recorded") == 2


def test_receive_against_closing_leaves_one_open_job_at_most(bench, other):
    for place in range(ROUNDS):
        named = {"make": "Corvenby", "model": "Spool 3", "serial": f"K-{place}"}
        number = bench.receive(facts=amplifier(), **named)
        bench.clear(number, HAND_BACK)
        results = together(
            lambda n=number: bench.stage(n, "withdrawn"),
            lambda n=named: other.receive(join=True, **n),
        )
        assert unexpected(results) == []
        numbers = Job.objects.filter(unit=bench.job(number).unit_id).values_list("pk", flat=True)
        for one in numbers:
            assert_intact(one)
        # Joined before it closed, or received anew after it.
        assert results[1] in numbers
        assert len(numbers) == (1 if results[1] == number else 2)


def test_two_units_corrected_to_one_name_at_once_leave_one_open_job(bench, other):
    for place in range(ROUNDS):
        named = {"make": "Corvenby", "model": "Spool 3"}
        numbers = [bench.receive(serial="", **named) for _ in range(2)]
        results = together(
            *(
                lambda n=number, s=f"K-{place}": commands.correct_intake(
                    n, serial=s, by=other.by, at=timezone.now()
                )
                for number in numbers
            )
        )
        assert unexpected(results) == []
        assert sum(isinstance(r, Refused) for r in results) == 1
        for number in numbers:
            assert_intact(number)


def test_a_correction_against_an_intake_leaves_one_open_job(bench, other):
    for place in range(ROUNDS):
        named = {"make": "Corvenby", "model": "Spool 3"}
        number, serial = bench.receive(serial="", **named), f"K-{place}"
        results = together(
            lambda n=number, s=serial: commands.correct_intake(
                n, serial=s, by=other.by, at=timezone.now()
            ),
            lambda s=serial, n=named: bench.receive(serial=s, **n),
        )
        assert unexpected(results) == []
        assert sum(isinstance(r, Refused) for r in results) == 1


def test_one_job_joined_into_the_other_both_ways_at_once_leaves_one(bench, other):
    for place in range(ROUNDS):
        one = bench.receive(serial=f"A-{place}")
        two = bench.receive(serial=f"B-{place}")
        Job.objects.filter(pk=two).update(unit=bench.job(one).unit_id)
        results = together(
            lambda a=one, b=two: commands.join(a, b, by=bench.by, at=timezone.now()),
            lambda a=one, b=two: commands.join(b, a, by=other.by, at=timezone.now()),
        )
        assert unexpected(results) == []
        assert sum(isinstance(r, Refused) for r in results) == 1
        assert Job.objects.filter(pk__in=(one, two), closed_at=None).count() == 1
        for number in (one, two):
            assert_intact(number)
