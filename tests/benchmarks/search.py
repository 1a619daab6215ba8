"""Search among 100,000 jobs: time to read them, and to find by rare, common and mistyped words.

Run by `make bench-search`, on SQLite in a folder of its own, or on the empty database that
BENCHTAG_DATABASE_URL names. Words are made up and fall as words do (Zipf).
"""

from __future__ import annotations

import os
import random
import statistics
import sys
import tempfile
import time

os.environ["BENCHTAG_DATA"] = tempfile.mkdtemp(prefix="benchtag-bench-")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")

import django

django.setup()

from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from shop.jobs.models import Job, LedgerRow, Unit
from shop.search import indexing
from shop.search import queries as search_queries

JOBS, WORDS, TIMES, BATCH = int(os.environ.get("JOBS", "100000")), 40_000, 15, 5_000


def vocabulary(rng: random.Random) -> list[str]:
    syllables = [a + b for a in "bcdfghklmnprstvz" for b in ("a", "e", "i", "o", "u", "ar", "en")]
    made: dict[str, None] = {}
    while len(made) < WORDS:
        made["".join(rng.choices(syllables, k=rng.randint(2, 4)))] = None
    return list(made)


def fill(rng: random.Random, words: list[str]) -> None:
    weights = [1 / (place + 1) for place in range(len(words))]
    now = timezone.now()
    for start in range(0, JOBS, BATCH):
        said = [" ".join(rng.choices(words, weights, k=28)) for _ in range(BATCH)]
        units = Unit.objects.bulk_create(
            Unit(make=words[rng.randrange(300)], model=f"M {n % 700}", serial=f"S{start + n:07}")
            for n in range(BATCH)
        )
        jobs = Job.objects.bulk_create(
            Job(
                unit=unit,
                received_at=now,
                stage_since=now,
                closed_at=now,
                stage="released",
                head=1,
                kind="receiver",
                complaint=text[:80],
            )
            for unit, text in zip(units, said, strict=True)
        )
        LedgerRow.objects.bulk_create(
            LedgerRow(
                job=job,
                sequence=1,
                event_type="note_added",
                at=now,
                hash="0" * 64,
                body=f'{{"text": "{text}"}}',
            )
            for job, text in zip(jobs, said, strict=True)
        )


def told(name: str, act: object) -> None:
    taken = []
    for _ in range(TIMES + 1):
        start = time.perf_counter()
        act()  # type: ignore[operator]
        taken.append((time.perf_counter() - start) * 1e3)
    print(f"{name:34} {statistics.median(taken[1:]):8.1f} ms   (worst {max(taken[1:]):.1f})")


def main() -> None:
    call_command("migrate", verbosity=0)
    if Job.objects.exists():
        sys.exit("The database has jobs already; name an empty one.")
    rng = random.Random(6)
    words = vocabulary(rng)
    fill(rng, words)
    start = time.perf_counter()
    read = 0
    while more := indexing.index_changed_jobs(now=timezone.now()):
        read += more
    seconds = time.perf_counter() - start
    print(f"{connection.vendor}: {read:,} jobs read in {seconds:.0f} s")
    rare, common, slip = words[30_000], words[3], words[20_000]
    told("a rare word", lambda: search_queries.search_jobs(rare))
    told("the commonest words", lambda: search_queries.search_jobs(f"{words[0]} {common}"))
    told("a serial number", lambda: search_queries.search_jobs("S0012345"))
    told("a beginning of two letters", lambda: search_queries.search_jobs(rare[:2]))
    told("a slip", lambda: search_queries.search_jobs(slip[:2] + "x" + slip[2:]))
    told("jobs like one", lambda: search_queries.similar_jobs(Job.objects.latest("pk"), ["hum"]))
    told("what is not in the index yet", indexing.unread_words)
    told(
        "a round of the duty, nothing new", lambda: indexing.index_changed_jobs(now=timezone.now())
    )


if __name__ == "__main__":
    main()
