"""A pass tells what the step cannot be done without seeing."""

from __future__ import annotations

import pytest
from django.utils import timezone

from checklists.engine.words import COVER_OFF
from shop.jobs import commands
from shop.lib.refusals import BadInput, Refused
from tests.helpers import amplifier

LOOK = "visual-intake"
DAMAGE = "intake.damage"


@pytest.fixture
def unseen(bench):
    """A unit of whose damage nobody has said anything."""
    return bench.receive(facts=amplifier(intake__damage=None))


def refused(bench, number, *answers):
    with pytest.raises(BadInput) as caught:
        bench.sign(number, LOOK, answers=answers)
    return caught.value.problems


def test_a_pass_without_the_answer_names_the_fact_and_writes_nothing(bench, unseen):
    head = bench.job(unseen).head
    [(field, sentence)] = refused(bench, unseen)
    assert field == DAMAGE
    assert sentence.startswith("Damage at intake is missing; this step cannot be passed without it")
    assert "liquid" in sentence
    assert (bench.job(unseen).head, bench.state(unseen, LOOK)) == (head, "due")


def test_the_answer_is_a_fact_of_its_own_before_the_signature(bench, unseen):
    step = bench.sign(unseen, LOOK, answers=[(DAMAGE, ["none"])])
    fact, signed = list(bench.job(unseen).ledger.order_by("sequence"))[-2:]
    assert (fact.event_type, fact.data) == ("fact_recorded", {"name": DAMAGE, "value": ["none"]})
    assert (signed.event_type, signed.at) == ("step_signed", fact.at)
    assert (step.state, step.answers) == ("signed", ())
    assert bench.traveller(unseen).record.facts[DAMAGE] == ["none"]


def test_an_answer_that_raises_a_hazard_does_so_at_once_and_does_not_end_its_own_signature(
    bench, unseen
):
    assert bench.sign(unseen, LOOK, answers=[(DAMAGE, ["liquid", "loose-inside"])]).stands
    up = {one.hazard.key: one for one in bench.traveller(unseen).checklist.up}
    assert {"wet-or-charred", "loose-part"} <= up.keys()
    assert up["wet-or-charred"].raised
    with pytest.raises(Refused) as caught:
        bench.power(unseen, "limited")
    assert "no-power-before-look-inside" in {r.step for r in caught.value.refusals}


def test_an_answer_takes_away_what_hung_on_it(bench, unseen):
    listed = bench.traveller(unseen).checklist.by_key
    kept = {"no-power-before-look-inside", "mains-entry-sound", "loose-part-found"}
    assert kept <= listed.keys()
    bench.sign(unseen, LOOK, answers=[(DAMAGE, ["none"])])
    assert kept.isdisjoint(bench.traveller(unseen).checklist.by_key)


def test_a_fail_asks_for_nothing_and_keeps_what_is_told(bench, unseen):
    assert bench.sign(unseen, LOOK, result="fail").state == "failed"
    assert bench.step(unseen, LOOK).answers[0].fact == DAMAGE
    bench.sign(unseen, LOOK, result="fail", answers=[(DAMAGE, ["dented"])])
    assert bench.traveller(unseen).record.facts[DAMAGE] == ["dented"]


@pytest.mark.parametrize(
    ("answers", "field", "words"),
    [
        ([(DAMAGE, [])], DAMAGE, "is missing"),
        ([(DAMAGE, ["gremlins"])], DAMAGE, "it must be a list"),
        ([(DAMAGE, "none")], DAMAGE, "it must be a list"),
        ([(DAMAGE, None)], DAMAGE, "it must be a list"),
        ([(DAMAGE, ["none"]), (DAMAGE, ["liquid"])], DAMAGE, "is answered twice"),
        ([(DAMAGE, ["none"]), ("unit.year", 1980)], "unit.year", "is not asked here"),
        ([(DAMAGE, ["none"]), ("job.power", "full")], "job.power", "is not asked here"),
    ],
)
def test_an_answer_that_is_none_is_named(bench, unseen, answers, field, words):
    [(named, sentence)] = refused(bench, unseen, *answers)
    assert named == field
    assert words in sentence


def test_what_is_recorded_is_not_asked_again_and_may_be_corrected(bench, job):
    assert bench.step(job, LOOK).answers == ()
    rows = bench.job(job).head
    bench.sign(job, LOOK, answers=[(DAMAGE, ["none"])])
    assert bench.job(job).head == rows + 1, "the same again is no row"
    bench.sign(job, LOOK, answers=[(DAMAGE, ["dented"])])
    assert bench.traveller(job).record.facts[DAMAGE] == ["dented"]
    assert bench.state(job, LOOK) == "signed"


def test_a_bad_reading_keeps_no_answer(bench, unseen):
    with pytest.raises(BadInput):
        bench.sign(unseen, LOOK, readings=[("volts", 3)], answers=[(DAMAGE, ["none"])])
    assert DAMAGE not in bench.traveller(unseen).record.facts


BUS = "switch-mode-primary"


@pytest.fixture
def open_unit(bench):
    """A unit whose supply nobody has named, its cover off, nothing proved yet."""
    number = bench.receive(facts=amplifier(unit__supply=None))
    bench.clear(number, COVER_OFF)
    bench.cover(number, "off")
    return number


def test_an_answer_that_takes_the_step_off_the_list_leaves_nothing_to_sign(bench, open_unit):
    step = bench.sign(open_unit, BUS, readings=[], answers=[("unit.supply", "linear")])
    assert (step.state, step.stands, step.answers) == ("not-applicable", True, ())
    assert BUS not in bench.traveller(open_unit).checklist.by_key
    assert bench.kinds(open_unit)[-1] == "fact_recorded"


def test_an_answer_that_keeps_the_step_asks_for_its_readings(bench, open_unit):
    with pytest.raises(BadInput, match="primary_bus_volts is missing"):
        bench.sign(open_unit, BUS, readings=[], answers=[("unit.supply", "switch-mode")])
    assert "unit.supply" not in bench.traveller(open_unit).record.facts
    told = [("unit.supply", "switch-mode")]
    assert bench.sign(open_unit, BUS, readings=[("primary_bus_volts", 3)], answers=told).stands


def test_what_mains_has_raised_no_answer_takes_away(bench, people):
    number = bench.receive(facts=amplifier(unit__supply=None))
    seen, now = "Seen through the vents.", timezone.now()
    commands.waive(number, "no-power-before-look-inside", reason=seen, by=people.owner, at=now)
    bench.limited(number)
    bench.power(number, "isolated")
    bench.clear(number, COVER_OFF)
    bench.cover(number, "off")
    step = bench.sign(number, BUS, answers=[("unit.supply", "linear")])
    assert step.state == "signed"
    assert BUS in bench.traveller(number).checklist.by_key
