"""What was recorded wrongly counts no longer, and gives nothing back without a new look."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from shop.jobs import events
from shop.jobs.models import Job, JobCause, JobReading
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import Bench, amplifier
from tests.jobs.events.rows import row as stored

SIX_SCRIPTS = "falsch, не тот, 错了, 違う, خطأ, λάθος"


def take_back(bench: Bench, job: int, row: Any, reason: str = "wrong unit") -> Any:
    return bench.record(job, "entry_withdrawn", row=row.sequence, reason=reason)


def up(bench: Bench, job: int) -> set[str]:
    return {one.hazard.key for one in bench.traveller(job).checklist.up}


def record_of(*rows: Any) -> Any:
    return events.reduce(Job(), rows)


class TestWhatCountsNoLonger:
    def test_a_fact_falls_back_to_the_value_before(self, bench, job):
        before = bench.traveller(job).record.facts["unit.rail_volts"]
        row = bench.record(job, "fact_recorded", name="unit.rail_volts", value=400)
        take_back(bench, job, row)
        assert bench.traveller(job).record.facts["unit.rail_volts"] == before

    def test_a_fact_that_had_no_value_before_is_unknown_again(self, bench, job):
        row = bench.record(job, "fact_recorded", name="unit.fan_cooled", value=True)
        take_back(bench, job, row)
        assert "unit.fan_cooled" not in bench.traveller(job).record.facts

    def test_a_complaint_gives_way_to_the_one_before(self, bench, job):
        before = bench.job(job).complaint
        row = bench.record(job, "complaint_recorded", text="of the other one")
        take_back(bench, job, row)
        assert bench.job(job).complaint == before

    def test_a_confirmed_cause_leaves_its_table(self, bench, job):
        row = bench.record(job, "suspect_changed", suspect="relay", change="confirmed")
        assert JobCause.objects.filter(job=job).exists()
        take_back(bench, job, row)
        assert not JobCause.objects.filter(job=job).exists()
        assert bench.traveller(job).record.suspects == {}

    def test_readings_of_a_withdrawn_sign_off_leave_their_table(self, bench, job):
        bench.sign(job, "fuse-check")
        row = bench.job(job).ledger.last()
        other = bench.record(job, "reading_taken", quantity="ripple_percent", value=2)
        assert JobReading.objects.filter(job=job, row=row.sequence).exists()
        take_back(bench, job, row)
        assert {r.row for r in JobReading.objects.filter(job=job)} == {other.sequence}

    def test_a_row_of_one_type_is_no_longer_listed(self, bench, job):
        row = bench.record(job, "work_done", work="fuse-replaced", before=True)
        take_back(bench, job, row)
        record = bench.traveller(job).record
        assert record.of_type("work_done") == []
        assert len(record.of_type("entry_withdrawn")) == 1

    def test_the_reason_is_kept_in_every_script_and_told(self, bench, job):
        note = bench.record(job, "note_added", text="smells")
        row = take_back(bench, job, note, SIX_SCRIPTS)
        said = events.words(row)
        assert said == [f"row {note.sequence} withdrawn: note added", SIX_SCRIPTS]


class TestNeverUpwards:
    def test_what_work_raised_stays_up(self, bench, job):
        row = bench.record(job, "work_done", work="transformer-replaced", before=True)
        take_back(bench, job, row)
        assert bench.traveller(job).record.work == []
        assert {"mains-wiring-wrong", "windings-out-of-phase"} <= up(bench, job)

    def test_a_permit_that_falls_by_it_takes_mains_along(self, bench, job):
        bench.limited(job)
        row = bench.job(job).ledger.filter(event_type="step_signed").last()
        take_back(bench, job, row)
        found = bench.job(job)
        assert (found.power, found.unplug_due) == ("isolated", True)

    def test_a_note_taken_back_leaves_mains_on(self, bench, job):
        note = bench.record(job, "note_added", text="smells")
        bench.limited(job)
        take_back(bench, job, note)
        assert bench.job(job).power == "limited"

    def test_a_sign_off_gives_no_earlier_one_back(self, bench, job):
        bench.sign(job, "fuse-check")
        bench.sign(job, "fuse-check")
        take_back(bench, job, bench.job(job).ledger.last())
        assert bench.state(job, "fuse-check") == "due"

    def test_an_earlier_sign_off_taken_back_leaves_the_later_one(self, bench, job):
        bench.sign(job, "fuse-check")
        first = bench.job(job).ledger.last()
        bench.sign(job, "fuse-check")
        take_back(bench, job, first)
        assert bench.state(job, "fuse-check") == "signed"

    def test_a_fail_taken_back_keeps_its_step_on_the_list(self, bench, job):
        bench.sign(job, "visual-intake", result="fail")
        take_back(bench, job, bench.job(job).ledger.last())
        assert bench.state(job, "visual-intake") == "due"
        assert "visual-intake" in bench.traveller(job).record.history.failed
        bench.sign(job, "visual-intake")
        assert bench.traveller(job).record.history.failed == frozenset()

    def test_a_fault_taken_back_still_counts_clean_trials_from_it(self):
        rows = [
            stored("trial_run", 1, fault=False),
            stored("trial_run", 2, fault=True),
            stored("trial_run", 3, fault=False),
            stored("entry_withdrawn", 4, row=2, reason="x"),
        ]
        record = record_of(*rows)
        assert record.clean_trials_run == 1
        assert [trial.sequence for trial in record.trials] == [1, 3]

    @pytest.mark.parametrize("taken", [1, 2, 3, 4, 5])
    def test_no_correction_softens_the_demand_of_clean_trials(self, taken):
        rows = [
            stored("trial_run", 1, fault=True),
            stored("trial_run", 2, fault=False),
            stored("work_done", 3, work="relay-replaced"),
            stored("trial_run", 4, fault=False),
            stored("trial_run", 5, fault=False),
        ]
        asked = record_of(*rows).clean_trials_needed
        correction = stored("entry_withdrawn", 6, row=taken, reason="x")
        assert record_of(*rows, correction).clean_trials_needed >= asked

    def test_work_taken_back_counts_clean_trials_anew_all_the_same(self):
        rows = [
            stored("trial_run", 1, fault=False),
            stored("work_done", 2, work="relay-replaced"),
            stored("entry_withdrawn", 3, row=2, reason="x"),
        ]
        assert record_of(*rows).clean_trials_run == 0

    def test_trials_taken_back_after_they_were_signed_for_hold_the_release(self, bench):
        job = bench.receive(facts=amplifier(complaint__intermittent=True))
        bench.record(job, "trial_run", fault=True)
        bench.record(job, "work_done", work="joints-reflowed", before=True)
        bench.soak(job)
        needed = bench.traveller(job).record.clean_trials_needed
        with time_machine.travel(timezone.now() + timedelta(hours=1)):
            rows = [bench.record(job, "trial_run", fault=False) for _ in range(needed)]
            bench.sign(job, "clean-trials", readings=[])
            bench.power(job, "isolated")
        bench.leave_gates(job)
        take_back(bench, job, rows[0])
        with pytest.raises(Refused, match=f"{needed} are asked for, {needed - 1} are on record"):
            bench.stage(job, "released")
        bench.record(job, "trial_run", fault=False)
        assert bench.stage(job, "released").closed


class TestWhatIsRefused:
    @pytest.mark.parametrize("row", [99, 10**8])
    def test_a_row_that_is_not_there_is_named(self, bench, job, row):
        with pytest.raises(BadInput, match=f"row is {row}; this job has no such row"):
            bench.record(job, "entry_withdrawn", row=row, reason="x")

    def test_what_was_so_stays(self, bench, job):
        bench.limited(job)
        bench.power(job, "isolated")
        for kind in ("received", "permit_granted", "power_applied", "power_removed"):
            row = bench.job(job).ledger.filter(event_type=kind).last()
            with pytest.raises(Refused, match="cannot be withdrawn"):
                take_back(bench, job, row)

    def test_nothing_is_withdrawn_twice_and_no_withdrawal_is(self, bench, job):
        note = bench.record(job, "note_added", text="smells")
        row = take_back(bench, job, note)
        with pytest.raises(Refused, match="is withdrawn already"):
            take_back(bench, job, note)
        with pytest.raises(Refused, match="cannot be withdrawn"):
            take_back(bench, job, row)

    def test_a_row_of_another_job_is_not_reached(self, bench, job):
        other = bench.receive(facts=amplifier())
        for _ in range(30):
            row = bench.record(other, "note_added", text="x")
        with pytest.raises(BadInput):
            take_back(bench, job, row)

    def test_the_desk_takes_nothing_back(self, people, bench, job):
        note = bench.record(job, "note_added", text="smells")
        with pytest.raises(Forbidden):
            take_back(Bench(people.desk), job, note)


def test_a_stored_withdrawal_of_mains_or_of_what_comes_later_is_none():
    rows = [
        stored("power_removed", 1),
        stored("entry_withdrawn", 2, row=1, reason="x"),
        stored("entry_withdrawn", 3, row=4, reason="x"),
        stored("trial_run", 4, fault=False),
    ]
    record = record_of(*rows)
    assert record.withdrawn == frozenset()
    assert record.clean_trials_run == 1


def test_a_stored_withdrawal_without_its_row_ends_what_was_signed():
    record = record_of(stored("entry_withdrawn", 1, reason="x"))
    assert record.history_events[0].unreadable
    assert record.withdrawn == frozenset()


def test_the_page_offers_it(client, people, bench, job):
    client.force_login(people.technician)
    page = client.get(reverse("job-write", args=[job]), {"what": "entry_withdrawn"})
    assert "An entry that was wrong" in page.content.decode()
