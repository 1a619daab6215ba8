"""Jobs from a CSV file: all of it or nothing, with a sentence for every row that is wrong.

Header (any order, any case; every column is optional but one of make, model or problem):

  reference (or id)     somebody else's number; importing it twice is an error
  make, model, serial   the unit
  category              kept as the model when there is none
  year                  fact unit.year
  problem (or complaint)  what the customer says, kept word for word
  customer_name, customer_email   (or owner_name, owner_email)
  unit.kind, unit.supply, ...   any fact of the vocabulary that can be typed in
  status, barrier, country, language   kept as a note on the job

Any other column is an error that names it.

The rows are counted, then each is looked at; with one fault nothing is written. Then the file
is kept in the database and its rows become jobs, some at a time, so that others write in
between. What stops it there is no row: a full disk, a process that is killed. The next import,
and the worker, write the rest.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User
from django.db import IntegrityError, InterfaceError, OperationalError, transaction
from django.db.models import F
from django.db.models.functions import Now

from checklists.engine.figures import grouped
from shop.accounts import roles
from shop.intake import many
from shop.jobs import commands
from shop.lib.phrases import counted
from shop.lib.refusals import UserFacingError
from shop.lib.web import busy_database
from shop.transfer import spreadsheet
from shop.transfer.looking import Look, Progress, silent
from shop.transfer.models import JobImport

# Rows that are stored under one lock: some hundredths of a second.
BATCH = 100
# Rows of one moment: jobs that are alike share what is derived.
_ALIKE = 1000
_TRIES = 5
# An import that has written nothing for so long is nobody's.
_STALLED = timedelta(minutes=1)
# The other duties of the worker wait meanwhile.
_MOST_IN_A_ROUND = 20_000

log = logging.getLogger(__name__)


@dataclass
class ImportResult:
    """What an import did or would do: job numbers, a sentence per bad row, and what was added elsewhere."""

    rows: int = 0
    numbers: list[int] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def import_csv(
    file: Path,
    *,
    by: User,
    at: datetime,
    dry_run: bool = False,
    progress: Progress = silent,
) -> ImportResult:
    """Import a CSV file and return what happened; with any error, or dry, nothing is written.

    `progress` is called with what is going on, the rows that are done, and all. BadInput when
    the file as a whole cannot be read. Interrupted when the database takes no more: `finish`.
    """
    content = spreadsheet.packed(file)
    return import_content(file.name, content, by=by, at=at, dry_run=dry_run, progress=progress)


def import_content(
    name: str,
    content: bytes,
    *,
    by: User,
    at: datetime,
    dry_run: bool = False,
    progress: Progress = silent,
) -> ImportResult:
    """Import what `spreadsheet.packed` returned, as `import_csv` does."""
    roles.require(by, "import")
    result = ImportResult(rows=spreadsheet.count(content))
    result.errors = Look(by, at).errors_of(content, result.rows, progress)
    if result.errors or dry_run or not result.rows:
        return result
    kept = JobImport.objects.create(
        by=by, at=at, written_at=at, name=name[:255], rows=result.rows, content=content
    )
    _write(kept, result, progress)
    return result


class Interrupted(Exception):
    """The rest of an import waits to be written. The message is a sentence."""

    def __init__(self, kept: JobImport, why: str) -> None:
        super().__init__(
            f"{why} Of {kept.name}, {grouped(kept.written)} of {counted(kept.rows, 'row')} are"
            f" written. The worker writes the rest within some minutes, or: {settings.COMMAND} jobs finish."
        )


def unfinished() -> list[JobImport]:
    """Return the imports that were interrupted, or that another process is writing now."""
    return list(JobImport.objects.filter(written__lt=F("rows")).order_by("pk"))


def finish(*, progress: Progress = silent) -> list[str]:
    """Write what interrupted imports have left; returns sentences about each of them.

    Harmless beside a process that is still at it: each batch is written by one of them.
    """
    told = []
    for kept in unfinished():
        result, before = ImportResult(rows=kept.rows), kept.written
        _write(kept, result, progress)
        told.append(
            f"The import of {kept.name} had stopped after {counted(before, 'row')};"
            f" it is finished now, with {counted(kept.rows, 'row')}."
        )
        told += result.notes
    return told


def finish_stalled(*, now: datetime) -> int:
    """Write what is left of imports that nobody is at any more; returns how many rows."""
    rows = 0
    for kept in unfinished():
        if kept.written_at < now - _STALLED:
            before, result = kept.written, ImportResult()
            try:
                _write(kept, result, silent, most=_MOST_IN_A_ROUND)
            except Interrupted as error:
                log.warning("%s", error)
            else:
                log.warning("An import that had stopped goes on: %s.", kept)
            for note in result.notes:
                log.warning("%s, %s", kept.name, note)
            rows += kept.written - before
    return rows


def _write(
    kept: JobImport, result: ImportResult, progress: Progress, *, most: int = spreadsheet.MOST_ROWS
) -> None:
    """Write what is left of an import, or so many rows; Interrupted when the database takes no more."""
    given, done = spreadsheet.lines(bytes(kept.content)), 0
    end = kept.written + most
    summaries = commands.Summaries()
    while done < end and (some := list(islice(given, BATCH))):
        start, done = done, done + len(some)
        if done > kept.written:
            try:
                _write_batch(kept, start, some, result, summaries)
            except (OperationalError, InterfaceError) as error:
                raise Interrupted(kept, busy_database.why(error)) from error
        progress("written", done, kept.rows)
        if not done % _ALIKE:
            summaries = commands.Summaries()


def _write_batch(
    kept: JobImport,
    start: int,
    rows: list[tuple[int, dict[str, str]]],
    result: ImportResult,
    summaries: commands.Summaries,
) -> None:
    for tries_left in reversed(range(_TRIES)):
        batch = ImportResult()
        lines = list(_ready(kept, rows, batch, summaries))
        try:
            kept.written = _stored(kept, start, start + len(rows), lines, batch)
        except IntegrityError:
            # Somebody brought in one of these units at this very moment; now it is known.
            if not tries_left:
                raise
        else:
            result.numbers += batch.numbers
            result.notes += batch.notes
            return


def _ready(
    kept: JobImport,
    rows: list[tuple[int, dict[str, str]]],
    batch: ImportResult,
    summaries: commands.Summaries,
) -> Iterator[many.Line]:
    """Yield the lines with their checklists derived; under no lock."""
    for number, row in rows:
        try:
            line = many.line(number, by=kept.by, at=kept.at, **spreadsheet.arguments(row))
        except UserFacingError as error:
            # All were good when they were looked at; since then the rules have changed.
            batch.notes.append(f"line {number}: not taken in: {error}")
        else:
            summaries.settle(line.draft)
            yield line


def _stored(
    kept: JobImport, start: int, end: int, lines: list[many.Line], batch: ImportResult
) -> int:
    """Store a batch unless another process has; returns how many rows are written by now."""
    with transaction.atomic():
        now = JobImport.objects.select_for_update().defer("content").get(pk=kept.pk)
        if now.written != start:
            return now.written
        told = many.receive_many(lines, by=kept.by, at=kept.at)
        # With the last row the file goes: customers stand in it.
        last = {"content": b""} if end == now.rows else {}
        JobImport.objects.filter(pk=now.pk).update(written=end, written_at=Now(), **last)
    batch.numbers += [line.draft.job.number for line in lines if line.draft.job.number]
    batch.notes += [f"line {line.number}: {line.note}." for line in told]
    return end
