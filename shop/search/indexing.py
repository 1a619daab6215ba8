"""Keep the words of jobs: what was written since is read, round after round."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet

from shop.jobs import events
from shop.jobs.models import Job, LedgerRow
from shop.search import backends
from shop.search.models import IndexedJob, IndexedWord
from shop.search.tokens import words_of

BATCH = 200
MOST_WORDS = 4000
# In one round: the other duties wait meanwhile.
_MOST_AT_ONCE = 2_000
_FRESH = 300
_NOTED = ("finding", "section", "note", "text", "work", "spec", "suspect", "evidence")


def index_changed_jobs(*, now: datetime, most: int = _MOST_AT_ONCE) -> int:
    """Read the jobs whose ledger went on since they were last read; returns how many."""
    behind = stale_jobs().values_list("pk", flat=True)[:most]
    numbers = list(behind)
    for start in range(0, len(numbers), BATCH):
        index_jobs(numbers[start : start + BATCH])
    return len(numbers)


def index_recent_jobs() -> None:
    """Read what was written a moment ago, before somebody looks for it."""
    fresh = LedgerRow.objects.order_by("-pk").values_list("job", flat=True)[:_FRESH]
    index_jobs(list(stale_jobs().filter(pk__in=set(fresh)).values_list("pk", flat=True)))


def stale_jobs() -> QuerySet[Job]:
    """Return the jobs that were not read yet, or have been written to since."""
    up_to_date = IndexedJob.objects.filter(job=OuterRef("pk"), head=OuterRef("head"))
    return Job.objects.filter(~Exists(up_to_date)).order_by("-pk")


@transaction.atomic
def index_jobs(numbers: Sequence[int]) -> None:
    """Read these jobs anew, whatever was kept of them."""
    jobs = Job.objects.filter(pk__in=numbers).select_related("unit")
    rows: dict[int, list[LedgerRow]] = {number: [] for number in numbers}
    for row in LedgerRow.objects.filter(job__in=numbers).order_by("job", "sequence"):
        rows[row.job_id].append(row)
    entries = [_job_words(job, rows[job.pk]) for job in jobs]
    backends.replace_entries(entries)
    IndexedJob.objects.bulk_create(
        [IndexedJob(job=job, head=len(rows[job.pk])) for job in jobs],
        update_conflicts=True,
        update_fields=["head"],
        unique_fields=["job"],
    )
    _add_words(entries)


def _add_words(entries: Iterable[backends.JobWords]) -> None:
    """Note every word that was not there yet."""
    words = {
        word for entry in entries for name in backends.COLUMNS for word in getattr(entry, name)
    }
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
