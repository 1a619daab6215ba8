from __future__ import annotations

import threading
from datetime import UTC, timedelta

import pytest
import time_machine
from django.core.management import call_command

from shop.reminders import (
    periodic,
    tasks,
    worker,
)
from shop.reminders import (
    queries as reminder_queries,
)
from shop.reminders import (
    services as reminder_services,
)
from shop.reminders.models import Reminder
from shop.reminders.periodic import PERIODIC_TASKS
from tests.reminders.when import at


@pytest.fixture
def quiet_job(bench):
    """Received on a Wednesday morning, stall timeout of the stage 18 working hours: Thursday 18:00."""
    with time_machine.travel(at("2026-11-25T09:00"), tick=False):
        return bench.receive(complaint="hums")


def remind(text):
    return reminder_services.remind(now=at(text))


def open_now(text):
    return reminder_queries.open_reminders(at(text))


def test_a_job_past_its_stall_timeout_gets_one_reminder(quiet_job):
    assert remind("2026-11-26T17:59") == 0
    assert remind("2026-11-26T18:01") == 1
    assert remind("2026-11-26T18:02") == 0

    reminder = Reminder.objects.get()
    assert (reminder.job_id, reminder.topic, reminder.escalation_level) == (quiet_job, "stalled", 1)
    assert "nothing has happened for 1 day in stage received" in reminder.sentence
    assert open_now("2026-11-26T18:03") == [reminder]


def test_it_is_repeated_level_by_level_and_then_no_more(quiet_job):
    """Another timeout of 18 working hours, two days, from level to level; four of them."""
    made = []
    for day in range(26, 30):
        made.append(remind(f"2026-11-{day}T18:01"))
    for day in range(1, 24):
        made.append(remind(f"2026-12-{day:02}T18:01"))
    assert sum(made) == 4
    assert sorted(Reminder.objects.values_list("escalation_level", flat=True)) == [1, 2, 3, 4]
    assert [r.escalation_level for r in open_now("2026-12-24T12:00")] == [4]


def test_a_watch_that_slept_says_one_thing_and_not_the_whole_ladder(quiet_job):
    assert remind("2027-01-20T10:00") == 1
    assert remind("2027-01-20T10:01") == 0


def test_whatever_happens_on_the_job_clears_it_and_a_new_silence_is_told_anew(bench, quiet_job):
    remind("2026-11-27T10:00")
    with time_machine.travel(at("2026-11-27T11:00"), tick=False):
        bench.record(quiet_job, "note_added", text="rang the customer")
    assert open_now("2026-11-27T11:00") == []
    assert remind("2026-11-27T12:00") == 0
    assert Reminder.objects.get().cleared_at == at("2026-11-27T12:00")
    assert remind("2026-12-24T12:00") == 1
    assert Reminder.objects.count() == 2


def test_a_closed_job_is_left_in_peace(bench, quiet_job):
    with time_machine.travel(at("2026-11-25T10:00"), tick=False):
        bench.pass_gate(quiet_job, "hand-back")
        bench.stage(quiet_job, "withdrawn")
    assert remind("2027-01-25T10:00") == 0


def test_one_bad_job_is_deferred_and_does_not_stop_the_rest(bench, quiet_job, monkeypatch):
    with time_machine.travel(at("2026-11-25T09:30"), tick=False):
        others = [bench.receive() for _ in range(2)]
    real = reminder_services._create

    def sometimes(matter, last, now):
        if matter.job.number == quiet_job:
            raise RuntimeError("a bad row")
        return real(matter, last, now)

    monkeypatch.setattr(reminder_services, "_create", sometimes)
    now = at("2026-11-30T10:00")
    assert reminder_services.remind(now=now) == 2
    assert bench.job(quiet_job).due_at == now + timedelta(hours=1)
    assert sorted(r.job_id for r in Reminder.objects.all()) == others

    monkeypatch.undo()
    assert remind("2026-11-30T11:01") == 1


def test_a_topic_that_fails_does_not_stop_the_others(quiet_job, monkeypatch):
    def broken(now):
        raise RuntimeError("no")

    monkeypatch.setitem(reminder_services.DETECTORS, "overnight", broken)
    assert remind("2026-11-30T10:00") == 1


def test_a_clock_set_back_says_nothing_twice(quiet_job):
    assert remind("2026-11-26T18:01") == 1
    assert remind("2026-11-26T17:30") == 0
    assert remind("2026-11-25T12:00") == 0
    assert remind("2026-11-26T18:01") == 0


@pytest.mark.django_db(transaction=True)
def test_the_task_and_the_embedded_worker_call_the_same_functions(quiet_job):
    with time_machine.travel(at("2026-12-01T10:00"), tick=False):
        assert tasks.do("remind") == 1
        assert tasks.do.apply(["remind"]).get() == 0
        call_command("watch", "--once")
    assert Reminder.objects.count() == 1


def test_beat_sends_every_duty(settings):
    sent = {entry["args"][0] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    assert sent == set(PERIODIC_TASKS)


def test_a_duty_that_fails_is_tried_again_and_the_others_run(monkeypatch, transactional_db):
    ran = []

    def broken(*, now):
        raise RuntimeError("no")

    monkeypatch.setattr(
        periodic, "PERIODIC_TASKS", {"a": broken, "b": lambda *, now: ran.append(now)}
    )
    worker.run_once()
    assert len(ran) == 1
    assert ran[0].tzinfo is UTC


def test_told_to_stop_it_finishes_the_duty_at_hand_and_begins_no_other(
    monkeypatch, transactional_db
):
    stop, ran = threading.Event(), []

    def first(*, now):
        stop.set()
        ran.append("first, to its end")

    monkeypatch.setattr(
        periodic, "PERIODIC_TASKS", {"first": first, "second": lambda *, now: ran.append("second")}
    )
    worker.keep(stop)
    assert ran == ["first, to its end"]


def test_the_bench_page_shows_it(client, people, quiet_job):
    client.force_login(people.viewer)
    with time_machine.travel(at("2026-12-01T10:00"), tick=False):
        remind("2026-12-01T10:00")
        page = client.get("/").content.decode()
    assert "nothing has happened for 6 days in stage received" in page
    assert "it has stalled: nobody has touched it" in page
