from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.management import call_command

from shop.lib.clock import after_working_hours
from shop.watch import embedded, stalled, tasks
from shop.watch.models import Reminder

LONDON = ZoneInfo("Europe/London")


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)


@pytest.mark.parametrize(
    ("start", "hours", "end"),
    [
        ("2026-11-25T09:00", 9, "2026-11-25T18:00"),
        ("2026-11-25T10:00", 9, "2026-11-26T10:00"),
        ("2026-11-25T07:00", 1, "2026-11-25T10:00"),
        ("2026-11-25T20:00", 1, "2026-11-26T10:00"),
        ("2026-11-27T17:00", 2, "2026-11-30T10:00"),  # Friday to Monday
        ("2026-11-28T12:00", 1, "2026-11-30T10:00"),  # Saturday
        ("2026-03-27T17:00", 2, "2026-03-30T10:00"),  # over the night the clocks go forward
        ("2026-10-23T17:00", 2, "2026-10-26T10:00"),  # over the night they go back
        ("2026-11-25T09:00", 90, "2026-12-08T18:00"),
        ("2026-11-25T09:00", 0, "2026-11-25T09:00"),
    ],
)
def test_working_hours_pass_on_working_days(start, hours, end):
    assert after_working_hours(at(start), hours) == at(end)


@pytest.fixture
def quiet_job(bench):
    """Received on a Wednesday morning, patience of the stage 18 working hours: Thursday 18:00."""
    with time_machine.travel(at("2026-11-25T09:00"), tick=False):
        return bench.receive(complaint="hums")


def test_a_job_past_its_patience_gets_one_reminder(quiet_job):
    assert stalled.remind(now=at("2026-11-26T17:59")) == 0
    assert stalled.remind(now=at("2026-11-26T18:01")) == 1
    assert stalled.remind(now=at("2026-11-26T18:02")) == 0
    assert stalled.remind(now=at("2026-12-24T18:02")) == 0

    reminder = Reminder.objects.get()
    assert reminder.job_id == quiet_job
    assert "nothing has happened for 1 day in stage received" in reminder.sentence
    assert stalled.open_reminders() == [reminder]


def test_whatever_happens_on_the_job_clears_it_and_a_new_silence_is_told_anew(bench, quiet_job):
    stalled.remind(now=at("2026-11-27T10:00"))
    with time_machine.travel(at("2026-11-27T11:00"), tick=False):
        bench.record(quiet_job, "note_added", text="rang the owner")
    assert stalled.open_reminders() == []
    assert stalled.remind(now=at("2026-11-27T12:00")) == 0
    assert stalled.remind(now=at("2026-12-24T12:00")) == 1
    assert Reminder.objects.count() == 2


def test_a_closed_job_is_left_in_peace(bench, quiet_job):
    with time_machine.travel(at("2026-11-25T10:00"), tick=False):
        bench.pass_gate(quiet_job, "hand-back")
        bench.stage(quiet_job, "withdrawn")
    assert stalled.remind(now=at("2027-01-25T10:00")) == 0


def test_one_bad_job_is_pushed_away_and_does_not_stop_the_rest(bench, quiet_job, monkeypatch):
    with time_machine.travel(at("2026-11-25T09:30"), tick=False):
        others = [bench.receive() for _ in range(2)]
    real = stalled._remind_of

    def sometimes(job, now):
        if job.number == quiet_job:
            raise RuntimeError("a bad row")
        return real(job, now)

    monkeypatch.setattr(stalled, "_remind_of", sometimes)
    now = at("2026-11-30T10:00")
    assert stalled.remind(now=now) == 2
    assert bench.job(quiet_job).due_at == now + timedelta(hours=1)
    assert sorted(r.job_id for r in Reminder.objects.all()) == others

    monkeypatch.undo()
    assert stalled.remind(now=at("2026-11-30T11:01")) == 1


@pytest.mark.django_db(transaction=True)
def test_the_task_and_the_embedded_worker_call_the_same_function(quiet_job):
    with time_machine.travel(at("2026-12-01T10:00"), tick=False):
        assert tasks.remind_of_stalled_jobs() == 1
        assert tasks.remind_of_stalled_jobs.apply().get() == 0
        call_command("watch", "--once")
    assert Reminder.objects.count() == 1


def test_a_duty_that_fails_is_tried_again_and_the_others_run(monkeypatch, db):
    ran = []

    def broken(*, now):
        raise RuntimeError("no")

    def sound(*, now):
        ran.append(now)

    monkeypatch.setattr(embedded, "ROUND", (broken, sound))
    embedded.run_once()
    assert len(ran) == 1
    assert ran[0].tzinfo is UTC


def test_the_bench_page_shows_it(client, people, quiet_job):
    client.force_login(people.viewer)
    with time_machine.travel(at("2026-12-01T10:00"), tick=False):
        stalled.remind(now=at("2026-12-01T10:00"))
        page = client.get("/").content.decode()
    assert "nothing has happened for 6 days in stage received" in page
    assert "<strong>stalled</strong> in" in page
