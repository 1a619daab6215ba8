from __future__ import annotations

from datetime import timedelta
from typing import get_args

import pytest
from django.utils import timezone
from django_fsm import TransitionNotAllowed

from checklists.engine.words import COVER_OFF, HAND_BACK, UNATTENDED
from shop.api import schemas
from shop.jobs import guards
from shop.jobs.models import Job
from shop.jobs.stages import CLOSED, FOLLOWS, Power, Stage, Waiting
from shop.jobs.tables import WAITS
from shop.lib.refusals import BadInput, Refused
from tests.helpers import Bench, amplifier


def codes(caught):
    return {refusal.code for refusal in caught.value.refusals}


def test_a_unit_goes_across_the_bench(bench, job):
    bench.soak(job)
    bench.power(job, "isolated")
    bench.pass_gate(job, "release")
    released = bench.stage(job, "released")

    assert released.closed
    assert released.waiting_on == ""
    assert bench.job(job).due_at is None
    assert bench.kinds(job)[-2:] == ["stage_changed", "released"]


@pytest.mark.parametrize("to", [s.value for s in Stage if s not in FOLLOWS[Stage.RECEIVED]])
def test_a_stage_that_cannot_follow_is_refused_with_the_ways_there_are(bench, job, to):
    if to == "received":
        assert bench.stage(job, to).stage == "received"
        return
    with pytest.raises(Refused, match="From received a job can go to reproducing, opened, withd"):
        bench.stage(job, to)


def test_an_unknown_stage_is_named(bench, job):
    with pytest.raises(BadInput, match="to is 'fixed'; it must be one of received"):
        bench.stage(job, "fixed")


def test_the_shelf_needs_a_part_that_is_outstanding(bench, job):
    bench.open_up(job)
    with pytest.raises(Refused, match="No part is outstanding"):
        bench.stage(job, "awaiting_parts")

    bench.record(job, "part_needed", spec="relay 24 V 2 changeover")
    assert bench.stage(job, "awaiting_parts").waiting_on == "parts"

    bench.record(job, "part_arrived")
    assert bench.job(job).waiting_on == "hands"


def test_an_optional_part_keeps_nobody_waiting(bench, job):
    bench.open_up(job)
    bench.record(job, "part_needed", spec="nicer knobs", required=False)
    assert bench.stage(job, "awaiting_parts").waiting_on == "hands"


def test_a_unit_under_power_does_not_go_on_the_shelf(bench, job):
    bench.open_up(job)
    bench.record(job, "part_needed", spec="relay")
    bench.limited(job)
    with pytest.raises(Refused, match="before the unit goes on the shelf"):
        bench.stage(job, "awaiting_parts")


@pytest.fixture
def reassembled(bench, job):
    bench.open_up(job)
    bench.cover(job, "on")
    bench.stage(job, "reassembled")
    return job


def test_a_soak_needs_full_power_and_its_gate(bench, reassembled):
    with pytest.raises(Refused) as caught:
        bench.stage(reassembled, "soaking")
    assert codes(caught) == {"not-full", "hold"}

    bench.full(reassembled)
    bench.clear(reassembled, UNATTENDED)
    assert bench.stage(reassembled, "soaking").stage == "soaking"


def test_a_unit_is_reassembled_once_its_cover_is_on(bench, job):
    bench.open_up(job)
    with pytest.raises(Refused, match=r"The cover is off\. Put it on"):
        bench.stage(job, "reassembled")
    bench.cover(job, "on")
    assert bench.stage(job, "reassembled").stage == "reassembled"


def test_a_soak_runs_with_the_cover_on(bench, reassembled):
    bench.clear(reassembled, COVER_OFF)
    bench.cover(reassembled, "off")
    bench.full(reassembled)
    assert bench.job(reassembled).cover == "off"
    with pytest.raises(Refused, match="cover on") as caught:
        bench.stage(reassembled, "soaking")
    assert "cover-off" in codes(caught)


@pytest.fixture
def soaked(bench, job):
    bench.soak(job)
    return job


def test_a_soak_from_before_the_last_work_is_not_signed_again(bench, soaked):
    bench.sign(soaked, "soak-run")
    bench.record_late(soaked, "work_done", work="joints-reflowed")
    with pytest.raises(Refused, match="worked on since that soak began") as caught:
        bench.sign(soaked, "soak-run")
    assert codes(caught) == {"soak-overtaken"}


def test_work_told_late_from_before_the_soak_leaves_it(bench, soaked):
    done_at = (timezone.now() - timedelta(hours=20)).isoformat()
    bench.record(soaked, "work_done", work="joints-reflowed", late="forgotten", done_at=done_at)
    assert bench.sign(soaked, "soak-run")


def test_nothing_leaves_under_power_or_unsigned(bench, soaked):
    with pytest.raises(Refused) as caught:
        bench.stage(soaked, "released")
    assert codes(caught) == {"energised", "hold"}
    unmet = {refusal.step for refusal in caught.value.unmet}
    assert {"full-function", "covers-and-labels", "soak-run"} <= unmet
    assert "touch-current" not in unmet, "measured before the soak, and nothing was done since"


def ready_to_leave(bench, number):
    bench.power(number, "isolated")
    bench.pass_gate(number, "release")


def test_a_required_part_that_is_outstanding_holds_the_release(bench, soaked):
    bench.record(soaked, "part_needed", spec="knob cap")
    ready_to_leave(bench, soaked)
    with pytest.raises(Refused, match="Required parts are outstanding: knob cap"):
        bench.stage(soaked, "released")


def test_an_estimate_without_a_yes_holds_the_release(bench, soaked):
    bench.record(soaked, "estimate_sent")
    ready_to_leave(bench, soaked)
    assert bench.job(soaked).waiting_on == "owner"
    with pytest.raises(Refused, match="the answer is: sent"):
        bench.stage(soaked, "released")
    bench.record(soaked, "estimate_answered", answer="no")
    with pytest.raises(Refused, match="the answer is: no"):
        bench.stage(soaked, "released")
    bench.record(soaked, "estimate_answered", answer="yes")
    assert bench.stage(soaked, "released").stage == "released"


def test_a_cover_that_is_off_holds_the_release(bench, soaked):
    bench.power(soaked, "isolated")
    bench.pass_gate(soaked, "open-up")
    bench.cover(soaked, "off")
    with pytest.raises(Refused, match="a unit leaves closed"):
        bench.stage(soaked, "released")


def test_a_soak_that_was_interrupted_or_failed_holds_the_release(bench, soaked):
    bench.record(soaked, "soak_started")
    bench.power(soaked, "isolated")
    with pytest.raises(Refused, match="has not passed: interrupted"):
        bench.stage(soaked, "released")

    bench.full(soaked)
    bench.record(soaked, "soak_started")
    assert bench.job(soaked).waiting_on == "soak-clock"
    bench.record(soaked, "soak_ended", result="fail")
    bench.power(soaked, "isolated")
    with pytest.raises(Refused, match="has not passed: failed"):
        bench.stage(soaked, "released")


def test_a_soak_starts_only_while_soaking_under_full_power(bench, job):
    with pytest.raises(Refused, match="A soak starts in stage soaking"):
        bench.record(job, "soak_started")
    with pytest.raises(Refused, match="No soak is running"):
        bench.record(job, "soak_ended")
    bench.soak(job)
    bench.record(job, "soak_started")
    with pytest.raises(Refused, match="running already"):
        bench.record(job, "soak_started")


# What opening may have spoiled goes back tested too; a soak begins with all that tested.
HANDED_BACK = {
    "received": set(),
    "opened": {"earth-continuity", "insulation-resistance", "shorts-before-power"},
    "soaking": set(),
}


@pytest.mark.parametrize("from_", HANDED_BACK)
def test_any_open_job_can_be_withdrawn_through_its_gate(bench, job, from_):
    if from_ == "opened":
        bench.open_up(job)
        bench.cover(job, "on")
    elif from_ == "soaking":
        bench.soak(job)
        bench.power(job, "isolated")
    with pytest.raises(Refused) as caught:
        bench.stage(job, "withdrawn")
    asked = {"hand-back-closed", "hand-back-warned"} | HANDED_BACK[from_]
    assert {r.step for r in caught.value.unmet} == asked

    bench.clear(job, HAND_BACK)
    assert bench.stage(job, "withdrawn").closed


def test_back_to_the_bench_from_reassembled_and_soaking(bench, job):
    bench.soak(job)
    assert bench.stage(job, "opened").stage == "opened"


@pytest.fixture
def closed(bench, job):
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    return job


def test_a_closed_job_takes_notes_and_nothing_else(bench, closed):
    bench.record(closed, "note_added", text="fetched on Friday")
    refused = [
        lambda: bench.record(closed, "finding_recorded", finding="dust-heavy"),
        lambda: bench.sign(closed, "full-function"),
        lambda: bench.power(closed, "limited"),
        lambda: bench.cover(closed, "off"),
        lambda: bench.stage(closed, "opened"),
    ]
    for act in refused:
        with pytest.raises(Refused, match="The job is closed"):
            act()
    assert bench.power(closed, "isolated").power == "isolated"


def test_an_intermittent_fault_is_counted_before_it_is_released(people):
    bench = Bench(people.technician)
    number = bench.receive(facts=amplifier(complaint__intermittent=True))
    for fault in (True, False, False, False, True):
        bench.record(number, "trial_run", conditions=["warm"], fault=fault)
    bench.record_late(number, "work_done", work="joints-reflowed")
    needed = bench.traveller(number).record.clean_trials_needed

    [reading] = bench.step(number, "clean-trials").readings
    assert reading.low == needed == 38
    bench.record(number, "trial_run", fault=False)
    assert bench.traveller(number).record.clean_trials_run == 1
    assert bench.traveller(number).record.clean_trials_needed == needed, "proof softens nothing"
    bench.record(number, "trial_run", fault=True)
    assert bench.traveller(number).record.clean_trials_run == 0


class TestEveryPairOfStages:
    """One table says which stage may follow which; model and guard both go by it."""

    @pytest.mark.parametrize("to", Stage)
    @pytest.mark.parametrize("here", Stage)
    def test_is_a_transition_or_refused(self, here, to):
        cleared = Job(stage=here.value)
        cleared.clearance = to.value
        if to in FOLLOWS[here]:
            cleared.move_to(to)
            assert cleared.stage == to
            return
        [refusal] = guards.against_stage(cleared, None, None, to)
        assert refusal.code == ("closed" if here in CLOSED else "no-way")
        with pytest.raises(TransitionNotAllowed):
            cleared.move_to(to)
        assert cleared.stage == here

    @pytest.mark.parametrize("to", Stage)
    @pytest.mark.parametrize("here", Stage)
    def test_is_refused_by_the_model_until_the_guards_have_cleared_it(self, here, to):
        for clearance in {"", *Stage} - {to}:
            job = Job(stage=here.value)
            job.clearance = str(clearance)
            with pytest.raises(TransitionNotAllowed):
                job.move_to(to)

    def test_the_transitions_of_the_model_are_the_table(self):
        made = {
            (way.source, way.target)
            for way in Job._meta.get_field("stage").get_all_transitions(Job)
        }
        assert made == {(here.value, to.value) for here, ways in FOLLOWS.items() for to in ways}


def test_every_word_of_waiting_has_words_everywhere_it_is_read():
    assert set(WAITS) == {"", *Waiting}
    assert set(get_args(schemas.WaitingWord)) == {"", *Waiting}
    assert set(get_args(schemas.StageWord)) == {"", *Stage}
    assert set(get_args(schemas.PowerWord)) == {"", *Power}
