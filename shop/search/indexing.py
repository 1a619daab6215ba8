"""Keep the words of jobs: what was written since is read, round after round."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet

from shop.jobs import events
from shop.jobs.models import Job, LedgerRow
from shop.lib.tokens import words_of
from shop.search import backends
from shop.search.models import IndexedJob, IndexedWord

BATCH = 200
MOST_WORDS = 4000
# In one round: the other duties wait meanwhile.
_MOST_AT_ONCE = 2_000
_FRESH = 300
# Of these a search looks through the words itself; what lies further back is read within a minute.
MOST_UNREAD = 40
_NOTED = ("finding", "section", "note", "text", "work", "spec", "suspect", "evidence")


def index_changed_jobs(*, now: datetime, most: int = _MOST_AT_ONCE) -> int:
    """Read the jobs whose ledger went on since they were last read; returns how many."""
    behind = stale_jobs().values_list("pk", flat=True)[:most]
    numbers = list(behind)
    for start in range(0, len(numbers), BATCH):
        index_jobs(numbers[start : start + BATCH])
    return len(numbers)


def unread_words() -> list[backends.JobWords]:
    """Return the words of what was written a moment ago and is not in the index yet, newest first.

    A search looks through these itself, and so never waits for a write, nor makes one.
    """
    fresh = LedgerRow.objects.order_by("-pk").values_list("job", flat=True)[:_FRESH]
    numbers = stale_jobs().filter(pk__in=set(fresh)).values_list("pk", flat=True)
    return words_of_jobs(list(numbers[:MOST_UNREAD]))


def stale_jobs() -> QuerySet[Job]:
    """Return the jobs that were not read yet, or have been written to since."""
    up_to_date = IndexedJob.objects.filter(job=OuterRef("pk"), head=OuterRef("head"))
    return Job.objects.filter(~Exists(up_to_date)).order_by("-pk")


def words_of_jobs(numbers: Sequence[int]) -> list[backends.JobWords]:
    """Return the words of these jobs as their ledgers stand, newest job first."""
    jobs = Job.objects.filter(pk__in=numbers).select_related("unit").order_by("-pk")
    rows: dict[int, list[LedgerRow]] = {number: [] for number in numbers}
    for row in LedgerRow.objects.filter(job__in=numbers).order_by("job", "sequence"):
        rows[row.job_id].append(row)
    return [_job_words(job, rows[job.pk]) for job in jobs]


@transaction.atomic
def index_jobs(numbers: Sequence[int]) -> None:
    """Read these jobs anew, whatever was kept of them."""
    entries = words_of_jobs(numbers)
    backends.replace_entries(entries)
    IndexedJob.objects.bulk_create(
        [IndexedJob(job_id=entry.job, head=entry.head) for entry in entries],
        update_conflicts=True,
        update_fields=["head"],
        unique_fields=["job"],
    )
    _add_words(entries)


def _add_words(entries: Iterable[backends.JobWords]) -> None:
    """Note every word that was not there yet."""
    words = {word for entry in entries for word in entry.words}
    IndexedWord.objects.bulk_create(
        [IndexedWord(word=word) for word in sorted(words)], ignore_conflicts=True
    )


def _job_words(job: Job, rows: Sequence[LedgerRow]) -> backends.JobWords:
    unit = f"{job.unit.make} {job.unit.model} {job.unit.serial} {job.reference or ''}"
    serial = "".join(words_of(job.unit.serial))
    record = events.reduce(job, rows)
    facts = record.facts
    symptoms = facts.get("complaint.symptoms", [])
    complaint_words = [
        str(row.data.get("text", "")) for row in rows if events.find(row.event_type).customers_words
    ]
    complaint_words += [str(symptom) for symptom in symptoms] if isinstance(symptoms, list) else []
    other_words = [str(facts.get("unit.kind", "")), *_noted_words(rows)]
    return backends.JobWords(
        job.pk,
        len(rows),
        [*words_of(unit), *([serial[:60]] if serial else [])][:MOST_WORDS],
        words_of(" ; ".join(complaint_words))[:MOST_WORDS],
        words_of(" ; ".join(other_words))[:MOST_WORDS],
    )


def _noted_words(rows: Sequence[LedgerRow]) -> list[str]:
    words: list[str] = []
    for row in rows:
        if not events.find(row.event_type).customers_words:
            words += [str(row.data[name]) for name in _NOTED if row.data.get(name)]
    return list(dict.fromkeys(words))
