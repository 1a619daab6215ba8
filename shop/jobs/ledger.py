"""The append-only record of a job, each row chained to the one before by SHA-256."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeAlias

from django.db import connection
from django.db.models import Exists, QuerySet, TextField
from django.db.models.functions import Cast

from checklists.engine.history import Event
from shop.jobs.models import Job, LedgerRow, data_of
from shop.lib.prepared import PreparedOnce, PreparedRows

if TYPE_CHECKING:
    from django.contrib.auth.models import User


class Row:
    """What a transaction needs of a stored row; a tenth of the cost of a model instance.

    Nothing may change it or its data: whoever reads the same words again is given the same row.
    """

    __slots__ = ("_data", "at", "body", "by_name", "event_type", "happened", "hash", "sequence")

    def __init__(
        self,
        sequence: int,
        event_type: str,
        at: datetime,
        by_name: str,
        body: str,
        hash: str,  # noqa: A002 - the name of its column
    ) -> None:
        self.sequence = sequence
        self.event_type = event_type
        self.at = at
        self.by_name = by_name
        self.body = body
        self.hash = hash
        self._data: dict[str, Any] | None = None
        # What it is to a history, once that was asked.
        self.happened: Event | None = None

    @property
    def data(self) -> dict[str, Any]:
        """What the row records."""
        if self._data is None:
            self._data = _data_of(self.body)
        return self._data


AnyRow: TypeAlias = LedgerRow | Row


_COLUMNS = ("sequence", "event_type", "at", "by_name", "body", "hash")


def _row(sequence: int, event_type: str, at: str, *rest: str) -> Row:
    return Row(sequence, event_type, _moment(at), *rest)


def _moment(text: str) -> Any:
    """Return a moment from a text of the database; None where an altered row has something else.

    SQLite has it without an offset and means UTC, PostgreSQL writes the offset.
    """
    try:
        found = datetime.fromisoformat(text)
        if (found.tzinfo is None) is not (connection.vendor == "sqlite"):
            return None
        return found.astimezone(UTC) if found.tzinfo else found.replace(tzinfo=UTC)
    except (TypeError, ValueError, OverflowError):
        return None


def _rows(number: int, unit: int) -> QuerySet[LedgerRow]:
    other = Job.objects.filter(unit_id=unit, closed_at=None).exclude(pk=number)
    rows = LedgerRow.objects.filter(job_id=number).order_by("sequence")
    return rows.annotate(at_text=Cast("at", TextField()), has_twin=Exists(other))


# A ledger is read again and again. All that is stored of a row is the key, so one that was altered
# is another row. Moments are read as text: only a row that is new has to make one of it.
_ROWS = PreparedOnce(
    _rows,
    int,
    int,
    columns=("sequence", "event_type", "at_text", "by_name", "body", "hash"),
    beside="has_twin",
    make=_row,
    most=4096,
)


def read(job: Job) -> list[Row]:
    """Return a job's rows, oldest first, and let the job know when its unit has no other open job.

    Every move asks for both, and on PostgreSQL a statement costs more than what it reads.
    """
    rows, has_twin = _ROWS.objects(job.number, job.unit_id)
    job.__dict__.pop("twins", None)
    if rows and not has_twin:
        job.twins = []
    return rows


# What hashes are made of, of each row of a job.
Stored: TypeAlias = Sequence[Sequence[Any]]
_ALL_COLUMNS = (*_COLUMNS, "previous")
_STORED = PreparedRows(
    lambda number: LedgerRow.objects.filter(job_id=number).order_by("sequence"),
    int,
    columns=_ALL_COLUMNS,
)


def stored(job_number: int) -> Stored:
    """Return what is stored of a job's rows, oldest first."""
    return _STORED(job_number)


def rows_of(job_number: int, stored: Stored) -> list[LedgerRow]:
    """Return rows as objects out of what is stored of them."""
    return [
        LedgerRow(job_id=job_number, **dict(zip(_ALL_COLUMNS, row, strict=True))) for row in stored
    ]


# Jobs of the same kind of unit say much the same in the same words.
_data_of = lru_cache(maxsize=4096)(data_of)


def next_row(
    job_number: int | None,
    before: LedgerRow | Row | None,
    event_type: str,
    data: dict[str, Any],
    *,
    by: User | None,
    at: datetime,
) -> LedgerRow:
    """Return the unsaved row that follows `before`; `at` must be aware.

    Without a number of its job it carries no hash yet: `give_to`.
    """
    row = LedgerRow(
        job_id=job_number,  # type: ignore[misc]  # a job that is not stored yet
        sequence=before.sequence + 1 if before else 1,
        event_type=event_type,
        at=at,
        by=by,
        by_name=by.get_username() if by else "the system",
        body=json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":")),
        previous=before.hash if before else "",
    )
    if job_number is not None:
        row.hash = hash_of(row)
    return row


def give_to(job_number: int, rows: Sequence[LedgerRow]) -> None:
    """Let unsaved rows, the first of them the first of its ledger, be those of a job, chained anew."""
    before = ""
    for row in rows:
        row.job_id, row.previous = job_number, before
        row.hash = before = hash_of(row)


def hash_of(row: LedgerRow) -> str:
    """Return the SHA-256 that the row must carry, in hex."""
    moment = row.at.astimezone(UTC).isoformat(timespec="microseconds")
    parts = [row.job_id, row.sequence, row.event_type, moment, row.by_name, row.body, row.previous]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


def faults(rows: Iterable[LedgerRow], head: int) -> list[str]:
    """Return a sentence for each break in one job's chain of `head` rows; empty when intact."""
    found: list[str] = []
    before: LedgerRow | None = None
    for row in rows:
        expected = before.sequence + 1 if before else 1
        if row.sequence != expected:
            found.append(f"job {row.job_id}: row {expected} is missing.")
        if row.previous != (before.hash if before else ""):
            found.append(f"job {row.job_id}: row {row.sequence} does not follow the row before it.")
        if row.at is None or row.hash != hash_of(row):
            found.append(f"job {row.job_id}: row {row.sequence} was altered.")
        before = row
    last = before.sequence if before else 0
    if last != head:
        found.append(f"The job counts {head} rows, the ledger ends at {last}.")
    return found
