"""Hands that do only what the next act says bring every unit out, and are never refused."""

from __future__ import annotations

from statistics import median

import pytest
import time_machine
from django.db import transaction
from django.utils import timezone
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from shop.jobs import commands
from shop.jobs.models import Job
from tests.factories import JobFactory
from tests.helpers import amplifier
from tests.helpers_plain import examples
from tests.jobs.next_act.conftest import MORNING
from tests.jobs.next_act.follower import Follower, Truth
from tests.jobs.next_act.units import facts, truths

# By tests that follow: how many acts of hands each unit took.
_DEEDS: dict[str, list[int]] = {"released": [], "withdrawn": []}


@pytest.fixture(scope="module", autouse=True)
def _printed():
    yield
    for end, deeds in _DEEDS.items():
        if deeds:
            print(
                f"\nacts to {end}: median {median(deeds):g}, worst {max(deeds)}, {len(deeds)} units"
            )


def followed(technician, clock, given_facts, truth: Truth, **unit) -> tuple[Job, Follower]:
    """Take a unit in, tell the estimate when the customer is to say no, and follow it to its end."""
    number = JobFactory(by=technician, facts=given_facts, **unit).number
    hands = Follower(number, truth, technician, clock)
    if truth.answer == "no":
        commands.record(number, "estimate_sent", {}, by=technician, at=timezone.now())
    job = hands.follow()
    _DEEDS[str(job.stage)].append(hands.deeds)
    return job, hands


def rolled_back(technician, given_facts, truth: Truth, **unit) -> str:
    with time_machine.travel(MORNING, tick=False) as clock, transaction.atomic():
        job, _ = followed(technician, clock, given_facts, truth, **unit)
        transaction.set_rollback(True)
        return str(job.stage)


# A story is long as it is: making it shorter would take minutes.
_AS_FOUND = (Phase.explicit, Phase.reuse, Phase.generate)


@settings(max_examples=examples(20), phases=_AS_FOUND)
@given(facts=facts(), truth=truths(), opened=st.booleans())
def test_every_mendable_unit_is_released(people, facts, truth, opened):
    ended = rolled_back(people.technician, facts, truth, arrived_open=opened)
    assert ended == "released"


@settings(max_examples=examples(10), phases=_AS_FOUND)
@given(facts=facts(), truth=truths(), opened=st.booleans())
def test_every_declined_unit_is_handed_back(people, facts, truth, opened):
    truth.answer = "no"
    ended = rolled_back(people.technician, facts, truth, arrived_open=opened)
    assert ended == "withdrawn"


@pytest.mark.parametrize(
    ("given_facts", "truth"),
    [
        (amplifier(), Truth(findings=("joint-cracked",), work=("joints-reflowed",))),
        (amplifier(), Truth(fault=False)),
        ({}, Truth()),
        ({}, Truth(facts=amplifier())),
        (amplifier(), Truth(fails=frozenset({"earth-continuity", "fuse-check"}))),
        (amplifier(), Truth(parts=("relay 24 V",), work=("relay-replaced",))),
        (amplifier(complaint__intermittent=True), Truth(findings=("joint-cracked",))),
        (
            amplifier(),
            Truth(
                findings=("hazardous-ceramic",),
                work=("relay-replaced",),
                fails=frozenset({"ceramic-left-whole"}),
            ),
        ),
    ],
    ids=[
        "mended",
        "nothing wrong",
        "nothing known",
        "known when asked",
        "tests that fail",
        "a part",
        "intermittent",
        "a failed step without which no hand may be in it",
    ],
)
def test_a_unit_is_released(people, clock, given_facts, truth):
    job, hands = followed(people.technician, clock, given_facts, truth)
    assert job.stage == "released"
    assert hands.deeds <= 150
