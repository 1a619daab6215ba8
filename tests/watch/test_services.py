"""A real Celery worker and beat on the real Redis, when there is one."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from shop.jobs.models import Job
from shop.watch import tasks
from shop.watch.models import Reminder
from tests.factories import PersonFactory
from tests.helpers import Bench

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not settings.REDIS_URL, reason="no Redis in this run (services-test)"),
]


@pytest.fixture
def start(tmp_path):
    running = []
    given = connection.settings_dict
    where = f"{given['HOST'] or '127.0.0.1'}:{given['PORT'] or 5432}"
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "BENCHWARDEN_DATA": str(tmp_path),
        "BENCHWARDEN_WATCH_SECONDS": "1",
        "BENCHWARDEN_DATABASE_URL": f"postgres://{given['USER']}@{where}/{given['NAME']}",
    }

    def start(*command):
        child = subprocess.Popen(
            [sys.executable, "-m", "celery", "-A", "shop.celery", *command],
            env=environment,
            cwd=settings.ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        running.append(child)
        return child

    yield start
    for child in running:
        os.killpg(child.pid, signal.SIGTERM)
        try:
            child.wait(15)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait()


@pytest.fixture
def overdue():
    bench = Bench(PersonFactory(username="bea", role="technician"))
    number = bench.receive()
    Job.objects.filter(pk=number).update(due_at=timezone.now() - timedelta(hours=1))
    return number


def wait_for_reminders(count, seconds=40):
    patience = time.monotonic() + seconds
    while time.monotonic() < patience and Reminder.objects.count() < count:
        time.sleep(0.2)
    return Reminder.objects.count()


def test_a_worker_on_redis_makes_the_reminder_once(start, overdue):
    start("worker", "--pool=solo", "--loglevel=error")
    for _ in range(3):
        tasks.remind_of_stalled_jobs.delay()
    assert wait_for_reminders(1) == 1
    time.sleep(1)
    assert Reminder.objects.count() == 1


def test_beat_sends_what_a_worker_does(start, overdue, tmp_path):
    start("beat", "--loglevel=error", "--max-interval=1")
    start("worker", "--pool=solo", "--loglevel=error")
    assert wait_for_reminders(1) == 1
