"""The state belongs to the unit: one open job, and what was left uncleared is up when it returns."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from shop.jobs import commands, earlier_facts
from shop.jobs.models import Job
from tests.jobs.hazards.hands import codes, refused, steps
from tests.jobs.hazards.units import class_ab

NAMED = {"make": "Test Works", "model": "Model 7", "serial": "A1234"}
NO_SERIAL = [
    "n/a",
    "?",
    "0000",
]


@pytest.fixture
def first(hands):
    return hands.receive(facts=class_ab(), complaint="hums", **NAMED)


def withdraw(hands: Any, number: int) -> None:
    hands.sign_all(number)
    hands.stage(number, "withdrawn")


def signed_as_if_new(hands: Any, number: int) -> None:
    """Sign what a unit nobody has seen would be asked for, and nothing else."""
    fresh = hands.receive(facts=class_ab(), make="Test Works", model="Model 8", serial="B1")
    for key in [step.key for step in hands.traveller(fresh).checklist.gate("first-power")]:
        hands.try_to_sign(number, key)


def test_a_second_open_job_of_one_unit_is_refused_and_the_first_named(hands, first):
    refusal = refused(hands.receive, facts=class_ab(), **NAMED)
    assert codes(refusal) == {"already-here"}
    assert str(first) in refusal.sentence
    assert Job.objects.count() == 1


def test_a_second_intake_joins_the_open_job(hands, first):
    facts = class_ab(unit__year=1999)
    joined = hands.receive(facts=facts, complaint="crackles", join=True, **NAMED)
    assert joined == first
    assert Job.objects.count() == 1
    record = hands.traveller(first).record
    assert record.facts["unit.year"] == 1999
    assert [row.data["text"] for row in record.of_type("complaint_recorded")] == [
        "hums",
        "crackles",
    ]


def test_a_join_takes_mains_off_when_it_brings_a_hazard(hands, first):
    hands.on_limiter(first)
    hands.receive(facts={"intake.damage": ["liquid"]}, join=True, **NAMED)
    job = hands.job(first)
    assert (job.power, job.unplug_due) == ("isolated", True)


def test_a_join_of_a_unit_that_is_not_here_opens_a_job(hands, first):
    other = NAMED | {"serial": "A1235"}
    assert hands.receive(facts=class_ab(), join=True, **other) != first


@pytest.mark.parametrize("differs", ["make", "model", "serial"])
def test_another_unit_is_received_beside_it(hands, first, differs):
    other = NAMED | {differs: "Other"}
    assert hands.receive(facts=class_ab(), **other) != first


def test_the_same_unit_is_received_again_once_it_has_left(hands, first):
    withdraw(hands, first)
    again = hands.receive(facts=class_ab(), **NAMED)
    assert hands.job(again).unit_id == hands.job(first).unit_id


@pytest.mark.parametrize("serial", NO_SERIAL)
def test_a_serial_that_is_none_identifies_nothing(hands, serial):
    alike = NAMED | {"serial": serial}
    one = hands.receive(facts=class_ab(), **alike)
    other = hands.receive(facts=class_ab(), **alike)
    assert hands.job(one).unit_id != hands.job(other).unit_id


def test_a_serial_that_is_none_is_no_return(hands):
    alike = NAMED | {"serial": "n/a"}
    one = hands.receive(facts=class_ab(), **alike)
    hands.ready_to_leave(one)
    hands.stage(one, "released")
    other = hands.receive(facts=class_ab(), **alike)
    assert hands.job(other).returned_from is None


@pytest.mark.parametrize("serial", ["00001", "none-7"])
def test_a_short_serial_is_a_serial_all_the_same(hands, serial):
    alike = NAMED | {"serial": serial}
    one = hands.receive(facts=class_ab(), **alike)
    withdraw(hands, one)
    other = hands.receive(facts=class_ab(), **alike)
    assert hands.job(one).unit_id == hands.job(other).unit_id


@pytest.mark.parametrize(
    ("work", "key"),
    [
        ("mains-wiring-changed", "mains-wiring"),
        ("output-devices-replaced", "shorts-before-power"),
    ],
)
def test_work_that_nobody_checked_is_up_when_the_unit_returns(hands, first, work, key):
    hands.opened(first)
    hands.record(first, "work_done", work=work)
    hands.cover(first, "on")
    hands.sign_all(first, without=(key,))
    hands.stage(first, "withdrawn")
    again = hands.receive(facts=class_ab(), **NAMED)
    signed_as_if_new(hands, again)
    assert key in steps(refused(hands.power, again, "limited"))


@pytest.mark.parametrize("finding", ["mains-lead-damaged", "insulator-cracked"])
def test_a_finding_that_nobody_cured_is_up_when_the_unit_returns(hands, first, finding):
    hands.record(first, "finding_recorded", finding=finding)
    hands.handed_back(first)
    again = hands.receive(facts=class_ab(), **NAMED)
    signed_as_if_new(hands, again)
    refused(hands.power, again, "limited")


def test_what_was_left_stays_up_whatever_is_taken_over_of_the_facts(hands, first):
    hands.record(first, "finding_recorded", finding="insulator-cracked")
    hands.handed_back(first)
    again = hands.receive(**NAMED)
    known = [fact.name for fact in earlier_facts.known_then(hands.job(first))]
    before = {one.hazard.key for one in hands.traveller(again).checklist.up if one.raised}
    assert "insulator-cracked" in before
    commands.take_over_facts(again, looked_at=known, by=hands.by, at=timezone.now())
    after = {one.hazard.key for one in hands.traveller(again).checklist.up if one.raised}
    assert before <= after


def test_what_was_cleared_is_not_up_when_the_unit_returns(hands, first):
    hands.opened(first)
    hands.record(first, "work_done", work="mains-wiring-changed")
    hands.sign_all(first)
    hands.closed(first)
    hands.soaked(first)
    hands.sign_all(first)
    hands.stage(first, "released")
    again = hands.receive(facts=class_ab(), **NAMED)
    signed_as_if_new(hands, again)
    assert hands.power(again, "limited").power == "limited"


def test_a_later_serial_of_a_unit_that_is_here_is_refused(hands, people, first):
    nameless = hands.receive(facts=class_ab(), make=NAMED["make"], model=NAMED["model"])
    given = {"by": people.technician, "at": timezone.now()}
    refusal = refused(commands.correct_intake, nameless, serial=NAMED["serial"], **given)
    assert codes(refusal) == {"already-here"}
