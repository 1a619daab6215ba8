"""Pages under load: the services of compose.yaml on this machine, PostgreSQL, 200 people at work.

Run by `make bench-load` (JOBS=1000000 for the large shop). The database is made for it and dropped.
Closed jobs are written straight into the tables, open ones come in through the door. Each of the
people asks for a page, reads it for some seconds, and asks again; one in ten requests writes.
The clients run on the same processors as the servers.
"""

from __future__ import annotations

import http.client
import os
import random
import statistics
import sys
import tempfile
import threading
import time
from collections import defaultdict
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

BASE = os.environ.get("BENCHTAG_DATABASE_URL") or "postgres://root@127.0.0.1:5432/postgres"
REDIS = os.environ.get("BENCHTAG_REDIS_URL") or "redis://127.0.0.1:6379/8"
NAME = "bench_load"
JOBS = int(os.environ.get("JOBS", "100000"))
OPEN, PEOPLE, SECONDS, THINK = 2000, 200, int(os.environ.get("SECONDS_OF_LOAD", "60")), 8.0
URL = urlsplit(BASE)._replace(path=f"/{NAME}").geturl()

os.environ["BENCHTAG_DATA"] = tempfile.mkdtemp(prefix="benchtag-load-")
os.environ["BENCHTAG_DATABASE_URL"] = URL
os.environ["BENCHTAG_REDIS_URL"] = REDIS
os.environ["BENCHTAG_SECRET_KEY"] = "load-test-only-" + "x" * 40
os.environ["BENCHTAG_WATCH_SECONDS"] = "10"
os.environ["DJANGO_SETTINGS_MODULE"] = "shop.site.settings"

PAGES = {
    "the bench now": (40, "/"),
    "list of jobs": (10, "/jobs/"),
    "traveller": (28, "/jobs/{open}/"),
    "ledger": (3, "/jobs/{open}/ledger/"),
    "backlog": (4, "/backlog/"),
    "parts": (3, "/parts/"),
    "flow": (2, "/flow/"),
    "write a note": (10, "/api/v1/jobs/{open}/ledger/"),
}

CLOSED = """
INSERT INTO jobs_unit (make, model, serial)
SELECT 'Maker ' || n %% 40, 'Model ' || n %% 400, 'S' || n FROM generate_series(1, %(jobs)s) n;
INSERT INTO jobs_job (unit_id, complaint, stage, power, cover, unplug_due, received_at, stage_since,
    closed_at, waiting_on, next_step, next_title, holds_open, kind, owner_asked, pack_digest, head, version)
SELECT u.id, 'hums', CASE WHEN u.id %% 9 = 0 THEN 'withdrawn' ELSE 'released' END, 'isolated', 'on', false,
    now() - (20 + u.id %% 1500) * interval '1 day', now() - (u.id %% 1500 + 1) * interval '1 day',
    now() - (u.id %% 1500 + 1) * interval '1 day', '', '', '', 0, 'receiver', false, '', 5, 1
FROM jobs_unit u;
INSERT INTO jobs_stagevisit (job_id, stage, kind, entered_at, left_at, "to")
SELECT j.number, s.stage, j.kind, j.received_at + s.starts * (j.closed_at - j.received_at),
    j.received_at + s.ends * (j.closed_at - j.received_at), s.follows
FROM jobs_job j, (VALUES ('received', 0.0, 0.1, 'reproducing'), ('reproducing', 0.1, 0.2, 'opened'),
    ('opened', 0.2, 0.6, 'reassembled'), ('reassembled', 0.6, 0.8, 'soaking'),
    ('soaking', 0.8, 1.0, 'released')) s(stage, starts, ends, follows);
INSERT INTO jobs_ledgerrow (job_id, sequence, kind, at, by_name, body, previous, hash)
SELECT j.number, n, 'note_added', j.closed_at, 'past', '{"text":"a note of some length, as people write"}',
    md5(j.number || '/' || n - 1), md5(j.number || '/' || n)
FROM jobs_job j, generate_series(1, 5) n;
INSERT INTO jobs_jobpart (job_id, need, spec, quantity, arrived, required, ordered, fitted, needed_at, outstanding)
SELECT number, 3, 'Relay of model ' || number %% 400, 1, 1, true, true, true, received_at, false
FROM jobs_job WHERE number %% 4 = 0;
"""


def make_database() -> None:
    with psycopg.connect(BASE, autocommit=True) as link:
        link.execute(f"DROP DATABASE IF EXISTS {NAME} WITH (FORCE)")
        link.execute(f"CREATE DATABASE {NAME}")


def fill() -> tuple[list[str], list[str], list[int]]:
    """Fill the shop; returns session cookies, tokens and the numbers of open jobs."""
    import django  # noqa: PLC0415

    django.setup()
    from django.core.management import call_command  # noqa: PLC0415
    from django.db import connection  # noqa: PLC0415

    call_command("migrate", verbosity=0)
    started = time.perf_counter()
    with connection.cursor() as cursor:
        for statement in CLOSED.split(";\n"):
            if statement.strip():
                cursor.execute(statement, {"jobs": JOBS - OPEN})
    print(f"{JOBS - OPEN:,} closed jobs in {time.perf_counter() - started:.0f} s", flush=True)
    cookies, tokens, numbers = _open_jobs()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    connection.close()
    return cookies, tokens, numbers


def _open_jobs() -> tuple[list[str], list[str], list[int]]:
    from django.conf import settings  # noqa: PLC0415
    from django.test import Client  # noqa: PLC0415
    from django.utils import timezone  # noqa: PLC0415

    from shop.accounts import roles  # noqa: PLC0415
    from shop.api.models import ApiToken  # noqa: PLC0415
    from shop.jobs import commands  # noqa: PLC0415
    from tests.helpers_plain import amplifier  # noqa: PLC0415

    started, now = time.perf_counter(), timezone.now()
    by = roles.make_user("technician", "technician")
    numbers = []
    for n in range(OPEN):
        at = now - timedelta(hours=n % 400)
        facts = amplifier() | {"unit.year": 1960 + n % 60}
        job = commands.receive(by=by, at=at, make="Maker", model=f"M{n % 90}", facts=facts)
        if n % 5 == 0:
            commands.record(job.number, "part_needed", {"spec": f"Relay {n % 50}"}, by=by, at=at)
        numbers.append(job.number)
    print(f"{OPEN:,} open jobs in {time.perf_counter() - started:.0f} s", flush=True)
    cookies = []
    for n in range(20):
        client = Client()
        client.force_login(roles.make_user(f"person{n}", "technician"))
        cookies.append(f"{settings.SESSION_COOKIE_NAME}={client.session.session_key}")
    return cookies, [ApiToken.make(by)], numbers


class Person(threading.Thread):
    """Asks for a page, reads it, asks for the next."""

    def __init__(
        self, port: int, cookie: str, token: str, numbers: list[int], until: float
    ) -> None:
        super().__init__(daemon=True)
        self.port, self.cookie, self.token = port, cookie, token
        self.numbers, self.until = numbers, until
        self.draw = random.Random(self.name)
        self.taken: dict[str, list[float]] = defaultdict(list)
        self.errors: list[str] = []

    def run(self) -> None:
        time.sleep(self.draw.uniform(0, THINK))
        names, weights = list(PAGES), [weight for weight, _ in PAGES.values()]
        while time.monotonic() < self.until:
            [name] = self.draw.choices(names, weights)
            self._ask(name, PAGES[name][1].format(open=self.draw.choice(self.numbers)))
            time.sleep(self.draw.expovariate(1 / THINK))

    def _ask(self, name: str, path: str) -> None:
        started = time.perf_counter()
        try:
            link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
            if name == "write a note":
                headers = {
                    "Authorization": f"Bearer {self.token}",
                    "Content-Type": "application/json",
                }
                link.request("POST", path, '{"kind":"note_added","data":{"text":"x"}}', headers)
            else:
                link.request("GET", path, headers={"Cookie": self.cookie})
            answer = link.getresponse()
            answer.read()
            link.close()
            if answer.status not in (200, 201):
                self.errors.append(f"{name}: {answer.status}")
        except OSError as error:
            self.errors.append(f"{name}: {error}")
        self.taken[name].append((time.perf_counter() - started) * 1e3)


def report(crowd: list[Person]) -> None:
    every: list[float] = []
    print(f"{'':16}{'requests':>9}{'p50 ms':>9}{'p95 ms':>9}{'p99 ms':>9}")
    for name in PAGES:
        taken = [ms for person in crowd for ms in person.taken[name]]
        every += taken
        _line(name, taken)
    _line("all", every)
    errors = [error for person in crowd for error in person.errors]
    print(f"{len(every) / SECONDS:.1f} requests a second, {len(errors)} errors {errors[:3] or ''}")


def _line(name: str, taken: list[float]) -> None:
    if len(taken) > 1:
        cut = statistics.quantiles(taken, n=100, method="inclusive")
        print(f"{name:16}{len(taken):9,}{cut[49]:9.0f}{cut[94]:9.0f}{cut[98]:9.0f}")


def main() -> None:
    from tests import composed  # noqa: PLC0415

    make_database()
    cookies, tokens, numbers = fill()
    secret = os.environ["BENCHTAG_SECRET_KEY"]
    given = {
        "BENCHTAG_DATA": os.environ["BENCHTAG_DATA"],
        "BENCHTAG_DATABASE_URL": URL,
        "BENCHTAG_REDIS_URL": REDIS,
        "BENCHTAG_SECRET_KEY": secret,
        "BENCHTAG_HTTPS": "no",
        "BENCHTAG_WATCH_SECONDS": "10",
        "BENCHTAG_LOG_LEVEL": "WARNING",
    }
    shop = composed.Composed(Path(os.environ["BENCHTAG_DATA"]), given, ("backup", "migrate"))
    try:
        shop.up()
        print(f"{JOBS:,} jobs, {OPEN:,} open; {PEOPLE} people for {SECONDS} s", flush=True)
        time.sleep(5)
        until = time.monotonic() + SECONDS
        crowd = [
            Person(shop.ports[n % len(shop.ports)], cookies[n % 20], tokens[0], numbers, until)
            for n in range(PEOPLE)
        ]
        for person in crowd:
            person.start()
        for person in crowd:
            person.join()
        report(crowd)
    finally:
        shop.down()
        with psycopg.connect(BASE, autocommit=True) as link:
            link.execute(f"DROP DATABASE IF EXISTS {NAME} WITH (FORCE)")


if __name__ == "__main__":
    sys.exit(main())
