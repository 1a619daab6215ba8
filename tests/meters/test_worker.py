"""Somebody with a probe in the hand does not wait for the worker's next round."""

from __future__ import annotations

import threading

import pytest
from django.db import connections
from django.utils import timezone

from shop.instruments import asking
from shop.lib import soon
from shop.reminders import periodic, worker


@pytest.mark.django_db(transaction=True)
def test_a_request_is_taken_between_two_rounds(connected, people, settings, monkeypatch):
    settings.WATCH_SECONDS = 3600
    rounds, taken, stop = threading.Event(), threading.Event(), threading.Event()

    def answer(*, now):
        (taken if asking.take_next(now) else rounds).set()
        return 1

    monkeypatch.setattr(periodic, "PERIODIC_TASKS", {asking.TASK: answer})

    def keep():
        worker.keep(stop)
        connections.close_all()

    thread = threading.Thread(target=keep)
    thread.start()
    try:
        assert rounds.wait(20)
        asking.read(connected(), "dc-voltage", by=people.technician, at=timezone.now())
        assert taken.wait(20)
    finally:
        stop.set()
        thread.join()


def test_an_instrument_that_hangs_holds_up_no_reminder(settings, monkeypatch):
    settings.WATCH_SECONDS = 0.01
    hangs, stop, rounds, held_up = threading.Event(), threading.Event(), [], []

    def remind(*, now):
        rounds.append(now)
        if hangs.is_set() and len(rounds) > 50:
            stop.set()

    def hang(*, now):
        hangs.set()
        if not stop.wait(20):
            held_up.append(now)
            stop.set()

    tasks = {asking.TASK: hang, "remind": remind}
    monkeypatch.setattr(periodic, "PERIODIC_TASKS", tasks)
    monkeypatch.setattr(periodic, "run", lambda name: tasks[name](now=timezone.now()))
    worker.keep(stop)
    assert hangs.is_set()
    assert not held_up


@pytest.mark.django_db(transaction=True)
def test_with_a_broker_the_task_is_sent_once_the_request_stands(connected, people, monkeypatch):
    sent = []
    monkeypatch.setattr(soon, "_senders", [sent.append])
    asking.read(connected(), "dc-voltage", by=people.technician, at=timezone.now())
    assert sent == [asking.TASK]


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_is_away_loses_nothing(connected, people, monkeypatch):
    def away(task):
        raise ConnectionError

    monkeypatch.setattr(soon, "_senders", [away])
    asking.read(connected(), "dc-voltage", by=people.technician, at=timezone.now())
    assert asking.waiting()
