"""Nothing that needs a hand is missing from home, and nothing stands there twice."""

from __future__ import annotations

import random

import pytest
from django.utils import timezone

from shop.customers.announced import services as announcing
from shop.customers.models import Intake
from shop.intake import services as intake_services
from shop.jobs.models import Job
from shop.pages.home.views import _home
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def shown() -> dict[int, list[str]]:
    """Under which headings each job stands."""
    home = _home(timezone.now())
    found: dict[int, list[str]] = {}
    headings = {
        "hands": [one.job for one in home["next_actions"].bench if one.job],
        "minutes": [one.job for one in home["next_actions"].quick if one.job],
        "waiting": list(home["waiting"]),
        "ready": list(home["ready"]),
    }
    for heading, jobs in headings.items():
        for job in jobs:
            found.setdefault(job.number, []).append(heading)
    return found


def part_ordered(bench, number):
    bench.open_up(number)
    bench.record(number, "part_needed", spec="relay")
    need = bench.traveller(number).record.needs[-1].sequence
    bench.record(number, "part_ordered", need=need)


def on_the_shelf(bench, number):
    part_ordered(bench, number)
    bench.stage(number, "awaiting_parts")


def part_here(bench, number):
    on_the_shelf(bench, number)
    bench.record(number, "part_arrived", spec="relay")


def declined(bench, number):
    bench.record(number, "estimate_sent")
    bench.record(number, "estimate_answered", answer="no")


def handed_back(bench, number):
    bench.pass_steps(number, "hand-back-closed", "hand-back-warned")
    bench.stage(number, "withdrawn")


STATES = {
    "received": lambda bench, number: None,
    "open": lambda bench, number: bench.open_up(number),
    "limited": lambda bench, number: bench.limited(number),
    "soaking": lambda bench, number: bench.soak(number),
    "part ordered": part_ordered,
    "on the shelf": on_the_shelf,
    "part here": part_here,
    "declined": declined,
    "handed back": handed_back,
}


@pytest.mark.random
@pytest.mark.parametrize("seed", range(3))
def test_every_job_that_needs_somebody_stands_under_one_heading(bench, people, seed):
    draw = random.Random(seed)
    states, coming = {}, []
    for _ in range(7):
        if draw.random() < 0.5:
            coming.append(announce(people, make="On its way").pk)
        number = bench.receive(facts=amplifier())
        states[number] = draw.choice(list(STATES))
        STATES[states[number]](bench, number)
    found = shown()
    for number, state in states.items():
        closed = bench.job(number).closed
        assert len(found.get(number, [])) == (0 if closed else 1), (state, found.get(number))
    # What is announced is no job: it stands under its own heading, once.
    assert sorted(row.pk for row in _home(timezone.now())["expected"]) == coming


def announce(people, **said):
    return announcing.announce(said, by=people.desk, at=timezone.now())


def test_what_was_announced_is_expected_until_it_is_a_job(people):
    row = announce(people, make="Corvenby", model="C 4")
    asked = announce(people, name="Ada")
    assert [one.pk for one in _home(timezone.now())["expected"]] == [row.pk]
    assert shown() == {}
    job = intake_services.receive(
        by=people.desk, at=timezone.now(), announced=row.pk, make="Corvenby", model="C 4"
    )
    assert not _home(timezone.now())["expected"]
    assert shown() == {job.number: ["hands"]}
    announcing.say(asked.pk, {"complaint": "hums"}, at=timezone.now())
    assert [one.pk for one in _home(timezone.now())["expected"]] == [asked.pk]


@pytest.mark.parametrize("state", [name for name in STATES if name != "handed back"])
def test_each_state_stands_there_with_its_next_act(bench, state):
    number = bench.receive(facts=amplifier())
    STATES[state](bench, number)
    [_] = shown()[number]
    assert bench.job(number).next_title


def test_a_parcel_that_has_to_go_back_is_ready_to_go(bench):
    number = bench.receive(facts=amplifier())
    Intake.objects.update_or_create(job_id=number, defaults={"came_by": Intake.PARCEL})
    assert "ready" not in shown()[number]
    handed_back(bench, number)
    assert shown()[number] == ["ready"]
    assert _home(timezone.now())["ready"][0].what == "Pack it and send it"
    bench.record(number, "shipped", carrier="North Post")
    assert number not in shown()


def test_what_the_customer_asked_takes_a_waiting_job_to_those_with_something_to_do(bench):
    number = bench.receive(facts=amplifier())
    on_the_shelf(bench, number)
    assert shown()[number] == ["waiting"]
    Job.objects.filter(pk=number).update(customer_asked=True)
    assert shown()[number] == ["minutes"]
