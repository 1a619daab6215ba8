"""Server time of the bench page and the list with 100,000 jobs, 2,000 of them open.

Run by `make bench`, on a database of its own. Budget (docs/decisions.md): 50 ms for the bench.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from datetime import datetime, timedelta

os.environ["BENCHTAG_DATA"] = tempfile.mkdtemp(prefix="benchtag-bench-")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
os.environ.pop("BENCHTAG_DATABASE_URL", None)

import django

django.setup()

from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from shop.accounts import roles
from shop.jobs.models import Job, Unit

JOBS, OPEN_EVERY, TIMES = 100_000, 50, 15


def job(place: int, unit: Unit, now: datetime) -> Job:
    is_open = place % OPEN_EVERY == 0
    waiting = "parts" if place % (5 * OPEN_EVERY) == 0 else "hands"
    return Job(
        unit=unit,
        stage="opened" if is_open else "released",
        received_at=now,
        stage_since=now - timedelta(hours=place % 500),
        due_at=now + timedelta(hours=place % 90 - 20) if is_open else None,
        closed_at=None if is_open else now,
        waiting_on=waiting if is_open else "",
    )


def milliseconds(client: Client, path: str) -> float:
    taken = []
    for _ in range(TIMES + 1):
        start = time.perf_counter()
        client.get(path)
        taken.append((time.perf_counter() - start) * 1e3)
    return statistics.median(taken[1:])


def main() -> None:
    call_command("migrate", verbosity=0)
    now, unit = timezone.now(), Unit.objects.create(make="Test Works", model="X")
    for start in range(0, JOBS, 5000):
        Job.objects.bulk_create(job(place, unit, now) for place in range(start, start + 5000))
    client = Client(HTTP_HOST="localhost")
    client.force_login(roles.make_user("reader", "viewer"))
    print(f"{JOBS:,} jobs, {JOBS // OPEN_EVERY:,} open")
    print(f"the bench now   {milliseconds(client, '/'):8.1f} ms   (budget 50)")
    print(f"list of jobs    {milliseconds(client, '/jobs/'):8.1f} ms")
    print(f"API list        {milliseconds(client, '/api/v1/jobs/'):8.1f} ms")


if __name__ == "__main__":
    main()
