"""A shop in a file with a job that has mains under a permit; made once, and copied for each lane."""

from __future__ import annotations

import sqlite3

from django.contrib.auth.models import User
from django.utils import timezone

from shop.jobs import commands
from tests.helpers import Bench, TestPeople, amplifier


def jobs_with_mains():
    """A job with mains on the limiter, and another one."""
    hands = Bench(TestPeople.make().technician)
    first = hands.receive(facts=amplifier())
    hands.limited(first)
    return first, hands.receive(facts=amplifier())


def copy(source, target):
    """Copy a database file whole, whatever is in its log."""
    with sqlite3.connect(source) as old, sqlite3.connect(target) as new:
        old.backup(new)


def bench():
    return Bench(User.objects.get(username="technician"))


def with_mains(job):
    """Give a job its permit again, where it has none."""
    hands = bench()
    if hands.job(job).power == "isolated":
        hands.limited(job)


def without_mains(job):
    commands.set_power(job, "isolated", by=bench().by, at=timezone.now())
