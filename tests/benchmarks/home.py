"""CPU time of home, the list and the flow with 100,000 jobs, 2,000 of them open.

Run by `make bench`, on a database of its own. Budgets (docs/decisions.md): 50 ms for home, 100
for the flow. Every job has left two stages behind, one job in a hundred came back, and one in thirty
went from its last tests to the bench again.
"""

from __future__ import annotations

import os
import tempfile
from datetime import datetime, timedelta

os.environ["BENCHTAG_DATA"] = tempfile.mkdtemp(prefix="benchtag-bench-")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
os.environ.pop("BENCHTAG_DATABASE_URL", None)

import django

django.setup()

from django.db import connection
from django.test import Client
from django.utils import timezone

from shop.accounts import roles
from shop.jobs.models import Job, StageVisit, Unit
from tests import migrated
from tests.benchmarks.budgets import medians, told

JOBS, OPEN_EVERY, RETURNED_EVERY, TIMES = 100_000, 50, 100, 15


def job(place: int, unit: Unit, now: datetime) -> Job:
    is_open = place % OPEN_EVERY == 0
    waiting = "parts" if place % (5 * OPEN_EVERY) == 0 else "hands"
    came = now - timedelta(days=place % 700 + 7)
    return Job(
        number=place + 1,
        unit=unit,
        stage="opened" if is_open else "released",
        received_at=came,
        stage_since=now - timedelta(hours=place % 500),
        due_at=now + timedelta(hours=place % 90 - 20) if is_open else None,
        closed_at=None if is_open else came + timedelta(days=7),
        waiting_on=waiting if is_open else "",
        returned_from_id=place if place % RETURNED_EVERY == 3 else None,
    )


def stays(one: Job) -> list[StageVisit]:
    """Return the stays in two stages that a job has left."""
    opened = one.received_at + timedelta(hours=one.number % 90)
    left = opened + timedelta(hours=one.number % 70)
    last = ("soaking", "opened") if one.number % 30 == 0 else ("opened", "released")
    return [
        StageVisit(
            job=one, stage="received", entered_at=one.received_at, left_at=opened, to="opened"
        ),
        StageVisit(job=one, stage=last[0], entered_at=opened, left_at=left, to=last[1]),
    ]


def main() -> None:
    migrated.migrate(connection)
    now, unit = timezone.now(), Unit.objects.create(make="Test Works", model="X")
    for start in range(0, JOBS, 5000):
        jobs = [job(place, unit, now) for place in range(start, start + 5000)]
        Job.objects.bulk_create(jobs)
        StageVisit.objects.bulk_create(stay for one in jobs for stay in stays(one))
    client = Client(HTTP_HOST="localhost")
    client.force_login(roles.make_user("reader", "viewer"))
    print(f"{JOBS:,} jobs, {JOBS // OPEN_EVERY:,} open")
    pages = ["/", "/flow/", "/jobs/", "/api/v1/jobs/"]
    for page in pages:
        assert client.get(page).status_code == 200, page
    home, flow, listed, api = medians(
        TIMES, *(lambda _, page=page: client.get(page) for page in pages)
    )
    print(f"list of jobs {listed:.1f} ms, API list {api:.1f} ms of CPU")
    told("home-100k", home, 50)
    told("flow-100k", flow, 100)


if __name__ == "__main__":
    main()
