"""Facts of an earlier job of the same unit: what is taken in one tap, and what wants a look."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse
from django.utils import timezone

from checklists.engine.vocabulary import VOCABULARY
from shop.jobs import commands, earlier_facts, queries
from shop.jobs.earlier_facts import AS_BUILT
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db
NAME = {"make": "Corvenby", "model": "C 4", "serial": "K-77"}


@pytest.fixture
def first(bench):
    """An amplifier that was here before and went back unrepaired."""
    number = bench.receive(**NAME, facts=amplifier())
    bench.record(number, "fact_recorded", name="unit.mains_volts", value=230.0)
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    return number


@pytest.fixture
def number(bench, first):
    return bench.receive(**NAME)


def take(number, people, **how):
    return commands.take_over_facts(number, by=people.technician, at=timezone.now(), **how)


def facts_of(bench, number):
    return queries.record_of(bench.job(number)).recorded_facts


def test_what_it_was_built_as_is_taken_with_its_source_and_nothing_else(
    bench, first, number, people
):
    rows = take(number, people)
    taken = {row.data["name"]: row.data["value"] for row in rows}
    then = facts_of(bench, first)
    assert taken == {name: value for name, value in then.items() if name in AS_BUILT}
    assert taken["unit.kind"] == "integrated-amplifier"
    assert {row.data["source"] for row in rows} == {f"job {first}"}
    assert facts_of(bench, number) == taken


def test_what_can_have_changed_is_taken_by_name_and_says_that_it_was_looked_at(
    bench, first, number, people
):
    [row] = take(number, people, as_built=False, looked_at=["unit.mains_volts"])
    assert (row.data["value"], row.data["source"]) == (230.0, f"job {first}, looked at again")
    assert row.by == people.technician


def test_neither_complaint_nor_damage_nor_what_follows_from_the_record_is_offered(
    bench, first, number, people
):
    assert {"complaint.symptoms", "intake.damage"} & facts_of(bench, first).keys()
    names = {fact.name for fact in earlier_facts.known_then(bench.job(first))}
    assert all(name.startswith("unit.") for name in names)
    for name in ("intake.damage", "complaint.symptoms", "findings", "unit.nonsense"):
        with pytest.raises(BadInput, match="was not known of this unit"):
            take(number, people, looked_at=[name])
    assert facts_of(bench, number) == {}


def test_what_this_job_knows_by_itself_stays(bench, number, people):
    bench.record(number, "fact_recorded", name="unit.kind", value="receiver")
    bench.record(number, "fact_recorded", name="unit.mains_volts", value=120.0)
    take(number, people, looked_at=["unit.mains_volts"])
    assert facts_of(bench, number)["unit.kind"] == "receiver"
    assert facts_of(bench, number)["unit.mains_volts"] == 120.0


def test_a_second_tap_takes_nothing(number, people):
    take(number, people)
    with pytest.raises(Refused, match="Nothing more"):
        take(number, people)


def test_a_fact_that_was_withdrawn_is_not_offered(bench, people):
    number = bench.receive(**NAME, facts=amplifier(unit__year=None))
    row = bench.record(number, "fact_recorded", name="unit.year", value=1971)
    bench.record(number, "entry_withdrawn", row=row.sequence, reason="misread")
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    later = bench.receive(**NAME)
    names = {fact.name for fact in earlier_facts.known_then(bench.job(number))}
    assert "unit.year" not in names
    take(later, people)
    assert "unit.year" not in facts_of(bench, later)


def test_another_unit_of_the_model_is_offered_nothing(bench, first, people):
    for serial in ("K-78", "", "n/a"):
        other = bench.receive(**NAME | {"serial": serial})
        with pytest.raises(Refused, match="not here before"):
            take(other, people)


def test_whoever_may_not_record_takes_nothing_over(number, people):
    with pytest.raises(Forbidden):
        commands.take_over_facts(number, by=people.viewer, at=timezone.now())


def test_a_closed_job_takes_nothing(bench, first, number, people):
    Job.objects.filter(pk=number).update(closed_at=timezone.now(), stage="withdrawn")
    with pytest.raises(Refused):
        take(number, people)


def held(bench, number):
    """The hold steps that are listed, and the hazards that can be there."""
    checklist = bench.traveller(number).checklist
    steps = {step.key for step in checklist.steps if step.step.hold}
    return steps, {one.hazard.key for one in checklist.up}


# Conditions of hazards read these, and a hand between two visits can change what they say:
# common practice of a bench (leads, fuses, selectors, supplies, cells, valves, devices).
CHANGED_BY_HANDS = {
    "unit.supply",
    "unit.protective_class",
    "unit.mains_volts",
    "unit.rail_volts",
    "unit.rail_total_volts",
    "unit.reservoir_uf",
    "unit.fuse_amps",
    "unit.valve_bias",
    "unit.plate_watts",
    "unit.lead_metres",
    "unit.lead_mm2",
    "unit.insulated_devices",
    "unit.live_sinks",
    "unit.has_lithium_cell",
    "unit.captive_lead",
}


def test_no_word_that_hands_change_is_taken_without_a_look():
    assert not AS_BUILT & CHANGED_BY_HANDS
    words = {name for name, fact in VOCABULARY.items() if name.startswith("unit.")}
    typed = {name for name in words if not VOCABULARY[name].computed}
    assert typed == AS_BUILT | CHANGED_BY_HANDS


def test_the_rest_holds_mains_and_hands_as_long_as_nobody_looked(bench, number, people):
    """With no more than what it was built as, an amplifier keeps every test of its mains side."""
    take(number, people)
    steps, up = held(bench, number)
    assert {"dead-not-proved", "earth-doubtful", "insulation-not-proved"} <= up
    assert {"fuse-check", "verify-dead"} <= steps


class TestPages:
    def test_one_tap_on_the_card(self, client, people, bench, number):
        client.force_login(people.technician)
        text = client.get(reverse("job", args=[number])).content.decode()
        assert "Take over what it was built as" in text
        path = reverse("earlier-facts", args=[number])
        client.post(path, {"as_built": "yes", "next": "job"}, follow=True)
        assert facts_of(bench, number)["unit.kind"] == "integrated-amplifier"
        text = client.get(reverse("job", args=[number])).content.decode()
        assert "Take over what it was built as" not in text
        assert 'value="unit.mains_volts"' in text
        assert 'value="unit.mains_volts" checked' not in text

    def test_no_tick_is_refused_on_the_page_of_the_unit(self, client, people, number):
        client.force_login(people.technician)
        path = reverse("earlier-facts", args=[number])
        answer = client.post(path, {"next": "job-unit"})
        assert answer.status_code == 409
        assert "Nothing more of job" in answer.content.decode()

    def test_a_first_visit_says_nothing(self, client, people, job):
        client.force_login(people.technician)
        assert "came-back" not in client.get(reverse("job", args=[job])).content.decode()


class TestApi:
    def test_what_is_offered_and_taken(self, client, people, first, number):
        client.force_login(people.technician)
        path = f"/api/v1/jobs/{number}/earlier-facts/"
        told = client.get(path).json()
        assert told["job"] == first
        by_name = {one["fact"]: one for one in told["facts"]}
        assert by_name["unit.kind"] == {
            "fact": "unit.kind",
            "value": "integrated-amplifier",
            "as_built": True,
        }
        assert by_name["unit.mains_volts"]["as_built"] is False
        body = {"looked_at": ["unit.mains_volts"]}
        taken = client.post(path, json.dumps(body), "application/json")
        assert taken.status_code == 201
        assert {"unit.kind", "unit.mains_volts"} <= {row["data"]["name"] for row in taken.json()}
        assert client.get(path).json()["facts"] != told["facts"]
        wrong = client.post(path, json.dumps({"looked_at": ["unit.x"]}), "application/json")
        assert wrong.status_code == 422

    def test_a_first_visit_has_none(self, client, people, job):
        client.force_login(people.technician)
        told = client.get(f"/api/v1/jobs/{job}/earlier-facts/").json()
        assert told == {"job": None, "facts": []}
