"""A sign-off is undone by whoever made it, within ten seconds, and while nothing rests on it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from shop.jobs import commands
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import Bench, amplifier

KEY = "visual-intake"


def signed(bench: Bench, job: int, key: str = KEY, **how):
    bench.sign(job, key, **how)
    return bench.job(job).ledger.filter(event_type="step_signed").last()


def undo(bench: Bench, job: int, row, *, by: User | None = None, after: float = 1.0):
    at = row.at + timedelta(seconds=after)
    return commands.undo(job, row.sequence, by=by or bench.by, at=at)


@pytest.mark.parametrize("after", [0.0, 1.0, 10.0])
def test_within_ten_seconds_it_is_as_if_nobody_had_signed(bench, job, after):
    row = signed(bench, job)
    assert bench.state(job, KEY) == "signed"
    undo(bench, job, row, after=after)
    assert bench.state(job, KEY) == "due"
    last = bench.job(job).ledger.last()
    assert (last.event_type, last.data["row"]) == ("entry_withdrawn", row.sequence)
    assert last.data["reason"] == "undone at once"


@pytest.mark.parametrize("after", [11.0, 10.001, -1.0])
def test_later_it_is_refused_by_the_clock_of_the_server(bench, job, after):
    row = signed(bench, job)
    with pytest.raises(Refused, match="ten seconds are over"):
        undo(bench, job, row, after=after)
    assert bench.state(job, KEY) == "signed"


def test_another_person_cannot_undo_it(people, bench, job):
    row = signed(bench, job)
    with pytest.raises(Refused, match="technician signed it"):
        undo(bench, job, row, by=people.owner)
    with pytest.raises(Forbidden):
        undo(bench, job, row, by=people.viewer)
    assert bench.state(job, KEY) == "signed"


@pytest.mark.parametrize(
    "follows",
    [
        lambda bench, job: bench.power(job, "limited"),
        lambda bench, job: bench.sign(job, "mains-voltage-match"),
        lambda bench, job: bench.record(job, "finding_recorded", finding="fuse-blown"),
        lambda bench, job: bench.stage(job, "reproducing"),
    ],
    ids=["mains on", "another signature", "a finding", "another stage"],
)
def test_once_something_that_may_rest_on_it_followed_a_reason_is_needed(bench, job, follows):
    bench.clear(job, "limited")
    row = signed(bench, job)
    follows(bench, job)
    with pytest.raises(Refused, match="Something followed it"):
        undo(bench, job, row)
    assert bench.state(job, KEY) == "signed"


@pytest.mark.parametrize("to", ["off", "on"])
def test_after_a_move_of_the_cover_it_stays(bench, job, to):
    bench.open_up(job)
    if to == "off":
        bench.cover(job, "on")
        bench.clear(job, "cover-off")
    row = signed(bench, job)
    bench.cover(job, to)
    with pytest.raises(Refused, match="Something followed it: cover"):
        undo(bench, job, row)


def test_what_leaves_it_alone_does_not_stand_in_the_way(bench, job):
    row = signed(bench, job)
    bench.record(job, "note_added", text="smells of dust")
    undo(bench, job, row)
    assert bench.state(job, KEY) == "due"


def test_a_fail_that_was_tapped_by_mistake_is_due_again_and_not_passed(bench, job):
    row = signed(bench, job, result="fail")
    undo(bench, job, row)
    assert bench.state(job, KEY) == "due"
    assert KEY in bench.traveller(job).record.history.failed


def test_answers_of_the_same_tap_go_with_it(bench):
    job = bench.receive(facts={"unit.kind": "power-amplifier"})
    listed = next(s for s in bench.traveller(job).checklist.steps if s.answers)
    row = signed(bench, job, listed.key)
    told = [one.fact for one in listed.answers]
    assert set(told) <= set(bench.traveller(job).record.recorded_facts)
    undo(bench, job, row)
    assert not set(told) & set(bench.traveller(job).record.recorded_facts)


def test_twice_is_refused_and_writes_nothing(bench, job):
    row = signed(bench, job)
    undo(bench, job, row)
    head = bench.job(job).head
    with pytest.raises(Refused, match="undone already"):
        undo(bench, job, row)
    assert bench.job(job).head == head


@pytest.mark.parametrize("sequence", [1, 9999])
def test_what_is_no_signature_is_not_undone(bench, job, sequence):
    with pytest.raises(BadInput, match="no signature"):
        commands.undo(job, sequence, by=bench.by, at=timezone.now())


class TestWhatThePageOffers:
    def offered(self, bench, job, *, by=None, after=1.0):
        record = bench.traveller(job).record
        at = record.rows[-1].at + timedelta(seconds=after)
        return commands.undoable(record, by=by or bench.by, at=at)

    def test_the_last_signature_for_ten_seconds(self, bench, job):
        row = signed(bench, job)
        assert self.offered(bench, job).sequence == row.sequence
        assert self.offered(bench, job, after=10.5) is None

    def test_nothing_to_others_and_nothing_when_nothing_was_signed(self, people, bench, job):
        assert self.offered(bench, job) is None
        signed(bench, job)
        assert self.offered(bench, job, by=people.owner) is None

    def test_nothing_when_it_is_undone_or_the_plug_comes_first(self, bench, job):
        row = signed(bench, job)
        undo(bench, job, row)
        assert self.offered(bench, job) is None
        other = bench.receive(facts=amplifier())
        bench.limited(other)
        bench.sign(other, KEY, result="fail")
        assert bench.job(other).unplug_due
        assert self.offered(bench, other) is None
