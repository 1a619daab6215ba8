"""One move (lock, read, check, write, ledger) against a bare insert and update by the ORM.

Run by `make bench`, on SQLite, and on PostgreSQL when it answers, there in a database made for
it. CPU time is that of this process: what PostgreSQL itself does is in neither side.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager

os.environ.setdefault("BENCHTAG_DATA", tempfile.mkdtemp(prefix="benchtag-bench-"))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")

import django

django.setup()

from django.db import connection, transaction
from django.utils import timezone

from shop.accounts import roles
from shop.customers.models import Customer
from shop.jobs import commands
from shop.jobs.models import Job
from shop.reminders.models import Reminder
from tests import migrated
from tests.benchmarks.budgets import medians, told
from tests.helpers_plain import amplifier

TIMES, LIMIT = 200, 2.0


@contextmanager
def database_of_its_own() -> Iterator[None]:
    if connection.vendor == "sqlite":
        migrated.migrate(connection)
        yield
        return
    named = connection.settings_dict["NAME"]
    connection.settings_dict["TEST"]["NAME"] = "benchtag_bench"
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        yield
    finally:
        connection.creation.destroy_test_db(named, verbosity=0)


def main() -> None:
    with database_of_its_own():
        measure()


def measure() -> None:
    by = roles.make_user("bench-mark", "technician")
    numbers = [
        commands.receive(by=by, at=timezone.now(), make="B", facts=amplifier()).number
        for _ in range(TIMES)
    ]
    jobs = list(Job.objects.filter(pk__in=numbers))
    customer = Customer.objects.create(name="x")

    def bare(place: int) -> None:
        with transaction.atomic():
            Reminder.objects.create(
                job=jobs[place],
                dedup_key=f"bench/{time.time_ns()}",
                sentence="x",
                made_at=timezone.now(),
            )
            customer.name = str(place)
            customer.save(update_fields=["name"])

    def note(place: int) -> None:
        commands.record(numbers[place], "note_added", {"text": "x"}, by=by, at=timezone.now())

    def sign(place: int) -> None:
        commands.sign(numbers[place], "visual-intake", result="pass", by=by, at=timezone.now())

    floor, noted, signed = medians(TIMES, bare, note, sign)
    where = connection.vendor
    print(f"{where}: bare {floor:.2f} ms, note {noted:.2f} ms, sign {signed:.2f} ms of CPU")
    told(f"note-over-bare-{where}", noted / floor, LIMIT)
    told(f"sign-over-bare-{where}", signed / floor, LIMIT)


if __name__ == "__main__":
    main()
