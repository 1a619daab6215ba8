"""An edition that is published reaches units with mains in the same transaction; old shops stay safe."""

from __future__ import annotations

import json

import pytest

from checklists import house, published
from checklists.models import HouseEdition
from shop.jobs import commands, events, ledger
from shop.jobs.models import Job, LedgerRow
from tests.jobs.events.rows import row
from tests.jobs.hazards.hands import refused, state
from tests.jobs.hazards.units import class_ab

STEP = {
    "key": "house-look",
    "title": "Look again",
    "instruction": "Look at it again.",
    "phase": "intake",
    "gate": "first-power",
    "hold": True,
    "source": "common practice",
}
RULE = {
    "id": "house-look",
    "when": "true",
    "require": ["house-look"],
    "because": "The house wants it.",
    "source": "common practice",
}
HALF_A_LIMIT = {
    "id": "house-offset",
    "when": "true",
    "require": ["dc-offset"],
    "because": "The house wants less.",
    "source": "common practice",
    "limits": [
        {"step": "dc-offset", "quantity": "offset_millivolts", "max": 20, "source": "house"}
    ],
}


@pytest.fixture
def publish(client, people, clock):
    """The owner writes a rule and presses publish on its page; no worker runs."""

    def press(step: dict, rule: dict = RULE, at: str = "2026-03-02T10:00:00+00:00") -> None:
        change = lambda content: house.with_tables(content, rule=rule, step=step)  # noqa: E731
        house.revise(change, by="olga", at=at)
        client.force_login(people.owner)
        assert client.post("/house-rules/publish/").status_code == 302

    return press


def test_a_new_hold_takes_mains_off_at_once(hands, publish):
    number = hands.receive(facts=class_ab())
    hands.on_full(number)
    publish(STEP)
    assert state(hands.job(number)) == ("isolated", "on", True)
    assert hands.live_permit(number) is None
    assert hands.kinds(number)[-1] == "power_removed"


def test_a_new_hold_of_another_gate_leaves_mains_on(hands, publish):
    number = hands.receive(facts=class_ab())
    hands.on_limiter(number)
    publish(STEP | {"gate": "release", "phase": "release"})
    assert state(hands.job(number)) == ("limited", "on", False)


def test_a_new_hold_of_other_units_leaves_mains_on(hands, publish):
    number = hands.receive(facts=class_ab())
    hands.on_limiter(number)
    publish(STEP, RULE | {"when": 'unit.kind == "turntable"'})
    assert state(hands.job(number)) == ("limited", "on", False)


def test_every_unit_with_mains_is_reached(hands, publish):
    numbers = [hands.receive(facts=class_ab(), serial=f"E{n}") for n in range(2)]
    for number in numbers:
        hands.on_limiter(number)
    publish(STEP)
    assert {hands.job(number).power for number in numbers} == {"isolated"}


@pytest.fixture
def twins(hands):
    """Two open jobs of one unit, as an old shop may have them."""
    one = hands.receive(facts=class_ab(), make="Test Works", model="M", serial="T1")
    other = hands.receive(facts=class_ab(), make="Test Works", model="M", serial="T2")
    Job.objects.filter(pk=other).update(unit=hands.job(one).unit_id)
    return one, other


def test_two_open_jobs_of_one_unit_get_no_mains(hands, twins):
    for number in twins:
        hands.sign_all(number)
    for number in twins:
        refused(hands.power, number, "limited")


def test_neither_of_two_open_jobs_leaves_for_both(hands, twins):
    one, _ = twins
    hands.record(one, "finding_recorded", finding="insulation-damaged")
    hands.sign_all(one)
    refused(hands.stage, one, "withdrawn")


def test_the_last_open_job_of_a_unit_gets_mains(hands, twins):
    one, other = twins
    commands.join(one, other, by=hands.by, at=hands.wait(minutes=1))
    hands.sign_all(other)
    assert hands.power(other, "limited").power == "limited"


def test_a_stored_house_limit_that_no_longer_loads_is_named(hands):
    content = {"rule": [HALF_A_LIMIT], "step": []}
    at = hands.wait(minutes=1)
    HouseEdition.objects.create(
        version=1, content=content, changed_at=at, changed_by="olga", published_at=at
    )
    published.refresh()
    number = hands.receive(facts=class_ab())
    listed = hands.traveller(number).checklist.by_key
    assert {"visual-intake", "verify-dead"} <= set(listed), "shipped holds stand"
    offset = listed["dc-offset"]
    assert {(one.low, one.high) for one in offset.readings} == {(-50.0, 50.0)}
    named = [key for key, step in listed.items() if "house-offset" in json.dumps(step.as_dict())]
    assert set(named) - {"dc-offset"}, "what no longer loads is named"


ODD = [
    {"work": "belt-replaced", "late": 7, "done_at": "yesterday"},
    {"work": "belt-replaced", "late": "forgotten"},
    {"work": "belt-replaced", "from_outside": "perhaps"},
    {"work": "belt-replaced", "before": None, "board_out": []},
]


@pytest.mark.parametrize("data", ODD)
def test_a_stored_row_with_odd_marks_reduces_and_softens_nothing(hands, data):
    number = hands.receive(facts=class_ab())
    hands.sign_all(number)
    plain = hands.job(number)
    odd = row("work_done", plain.head + 1, **data)
    record = events.reduce(plain, (*ledger.read(plain), odd))
    assert record.history.touched, "work that cannot be told from work inside is work inside"


def test_a_stored_withdrawal_of_a_row_that_is_not_there_reduces(hands):
    number = hands.receive(facts=class_ab())
    job = hands.job(number)
    for data in ({}, {"row": 999, "reason": "x"}, {"row": "one"}, {"row": [1]}):
        odd = row("entry_withdrawn", job.head + 1, **data)
        record = events.reduce(job, (*ledger.read(job), odd))
        assert record.facts["unit.kind"] == "integrated-amplifier"
    assert LedgerRow.objects.filter(job=number).count() == job.head
