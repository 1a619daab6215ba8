"""A real Celery worker and beat on the real Redis, when there is one."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from shop.jobs.models import Job
from shop.reminders.models import Reminder
from tests.composed import free_port
from tests.factories import PersonFactory
from tests.helpers import Bench

pytestmark = [
    pytest.mark.process,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        not (settings.REDIS_URL and shutil.which("redis-server")),
        reason="no Redis in this run (services-test)",
    ),
]


@pytest.fixture
def redis(tmp_path):
    """A Redis of the test's own, that it may stop and start."""
    return OwnRedis(tmp_path)


class OwnRedis:
    def __init__(self, folder):
        self.folder, self.port, self.child = folder, free_port(), None
        self.start()

    def start(self):
        command = ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1", "--save", ""]
        self.child = subprocess.Popen(
            [*command, "--dir", str(self.folder)], stdout=subprocess.DEVNULL
        )
        deadline = time.monotonic() + 10
        while time.monotonic() < deadline:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise AssertionError("Redis did not start")

    def stop(self):
        self.child.kill()
        self.child.wait()


@pytest.fixture
def start(tmp_path, redis):
    running = []
    given = connection.settings_dict
    where = f"{given['HOST'] or '127.0.0.1'}:{given['PORT'] or 5432}"
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.site.settings",
        "BENCHTAG_DATA": str(tmp_path),
        "BENCHTAG_WATCH_SECONDS": "1",
        "BENCHTAG_REDIS_URL": f"redis://127.0.0.1:{redis.port}/0",
        "BENCHTAG_DATABASE_URL": f"postgres://{given['USER']}@{where}/{given['NAME']}",
    }

    def start(*command):
        child = subprocess.Popen(
            [sys.executable, "-m", "celery", "-A", "shop.site.celery", *command],
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
        if child.poll() is not None:
            continue
        os.killpg(child.pid, signal.SIGTERM)
        try:
            child.wait(15)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait()
    redis.stop()


@pytest.fixture
def bench():
    return Bench(PersonFactory(username="bea", role="technician"))


def overdue_job(bench):
    number = bench.receive()
    Job.objects.filter(pk=number).update(due_at=timezone.now() - timedelta(hours=1))
    return number


def wait_for_reminders(count, seconds=40):
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline and Reminder.objects.count() < count:
        time.sleep(0.2)
    return Reminder.objects.count()


def worker(start):
    return start("worker", "--pool=solo", "--loglevel=error", "--without-mingle")


def beat(start):
    return start("beat", "--loglevel=error", "--max-interval=1")


def test_two_workers_and_a_beat_say_it_once(start, bench):
    overdue_job(bench)
    beat(start)
    worker(start)
    worker(start)
    assert wait_for_reminders(1) == 1
    time.sleep(3)
    assert Reminder.objects.count() == 1


def test_a_broker_that_vanishes_loses_nothing_and_doubles_nothing(start, redis, bench):
    beat(start)
    worker(start)
    overdue_job(bench)
    assert wait_for_reminders(1) == 1

    redis.stop()
    overdue_job(bench)
    time.sleep(4)
    assert Reminder.objects.count() == 1, "nobody can be told while the broker is away"
    redis.start()

    assert wait_for_reminders(2, seconds=90) == 2
    time.sleep(3)
    assert Reminder.objects.count() == 2


def test_workers_killed_again_and_again_still_say_everything_once(start, bench):
    beat(start)
    jobs = []
    for pause in (0.1, 0.7, 1.3):
        jobs.append(overdue_job(bench))
        child = worker(start)
        time.sleep(2.5 + pause)
        os.killpg(child.pid, signal.SIGKILL)
        child.wait()
    jobs.append(overdue_job(bench))
    worker(start)

    assert wait_for_reminders(len(jobs), seconds=90) == len(jobs)
    time.sleep(2)
    assert sorted(Reminder.objects.values_list("job", flat=True)) == jobs


def test_a_worker_told_to_end_finishes_and_leaves_with_nothing_in_hand(start, bench):
    beat(start)
    child = worker(start)
    overdue_job(bench)
    assert wait_for_reminders(1) == 1
    child.send_signal(signal.SIGTERM)
    assert child.wait(20) == 0
