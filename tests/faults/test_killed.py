"""Processes that are killed (SIGKILL) in the middle of what they write.

What they had acknowledged is there, once; the chains hold; an import is carried to its end.
"""

from __future__ import annotations

import os
import random
import signal
import time
import traceback
from collections import Counter
from collections.abc import Callable
from functools import partial

import pytest
from django.db import OperationalError, connection, connections
from django.utils import timezone

from shop.jobs import queries
from shop.jobs.models import Job, LedgerRow, Permit
from shop.lib.refusals import UserFacingError
from shop.transfer import job_import
from shop.transfer.models import JobImport
from tests.helpers import Bench, TestPeople, amplifier
from tests.reminders.test_faults import _killer, apart

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.process]
ROUNDS, WRITERS, SECONDS = 3, 2, (0.3, 1.2)
KILLS = 6


@pytest.fixture
def draw(request):
    seed = os.environ["BENCHTAG_SEED"]
    print(f"again with: BENCHTAG_SEED={seed}")
    return random.Random(f"{seed}-{request.node.name}")


def forked(act: Callable[[], None]) -> int:
    """Run an act in a child with a connection of its own; returns its process id."""
    connections.close_all()
    child = os.fork()
    if child == 0:
        try:
            apart()
            act()
        except BaseException:
            traceback.print_exc()
            os._exit(3)
        os._exit(0)
    return child


def ended(child: int) -> bool:
    """Wait for a child; whether it was killed."""
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, "the child failed by itself"
    return os.WIFSIGNALED(status)


def write_on(bench: Bench, number: int, said: int, name: str) -> None:
    """Write notes and move mains until killed; each note is told once it is committed."""
    place = 0
    while True:
        place += 1
        bench.record(number, "note_added", text=f"{name}-{place}")
        os.write(said, f"{name}-{place}\n".encode())
        try:
            bench.power(number, "limited" if place % 2 else "isolated")
        except (UserFacingError, OperationalError):
            # Refused, or mains off that found the database locked and does not wait for it.
            continue


def test_writers_that_are_killed_lose_and_double_nothing(draw):
    people = TestPeople.make()
    bench = Bench(people.technician)
    jobs = [bench.receive(facts=amplifier()) for _ in range(WRITERS)]
    for number in jobs:
        bench.limited(number)
    told: list[str] = []
    for round_ in range(ROUNDS):
        hear, said = os.pipe()
        children = [
            forked(partial(write_on, bench, jobs[n], said, f"{round_}-{n}")) for n in range(WRITERS)
        ]
        time.sleep(draw.uniform(*SECONDS))
        for child in children:
            os.kill(child, signal.SIGKILL)
        assert [ended(child) for child in children] == [True] * WRITERS
        os.close(said)
        with os.fdopen(hear) as heard:
            told += heard.read().splitlines()

        rows = LedgerRow.objects.filter(event_type="note_added")
        there = Counter(row.data["text"] for row in rows)
        assert set(told) <= set(there), "an acknowledged note is not there"
        assert set(there.values()) <= {1}, "a note is there twice"
        assert list(queries.ledger_faults()) == []
        for job in Job.objects.all():
            live = Permit.objects.filter(job=job, ended_at=None).exists()
            assert live == (job.power != "isolated")
    assert len(told) >= ROUNDS


def test_an_import_that_is_killed_at_any_statement_is_carried_to_its_end(
    draw, tmp_path, monkeypatch
):
    monkeypatch.setattr(job_import, "BATCH", 4)
    by, rows = TestPeople.make().owner, 30
    steps: list[str] = []
    killed: list[bool] = []
    for turn in range(KILLS + 1):
        file = tmp_path / f"{turn}.csv"
        lines = [f"{turn}-{n},Corvenby,S-{turn}-{n},hums" for n in range(rows)]
        file.write_text("\n".join(["reference,make,serial,problem", *lines]) + "\n")

        def load(file=file):
            job_import.import_csv(file, by=by, at=timezone.now())

        if turn == 0:
            with connection.execute_wrapper(lambda run, *a: steps.append(a[0]) or run(*a)):
                load()
        else:
            step, after = draw.randint(1, len(steps)), draw.random() < 0.5

            def dies(load=load, step=step, after=after):
                with connection.execute_wrapper(_killer(step, after=after)):
                    load()

            # What is looked up once, in the first turn, a later one has no statement for.
            killed.append(ended(forked(dies)))
        job_import.finish()
        there = Job.objects.filter(reference__startswith=f"{turn}-").count()
        wanted = (0, rows) if killed and killed[-1] else (rows,)
        assert there in wanted, f"killed at statement {turn and step} of {len(steps)}"
        assert list(queries.ledger_faults()) == []
        assert not JobImport.objects.exclude(content=b"").exists()
    assert Job.objects.count() >= rows
    assert sum(killed) >= KILLS // 2, killed
