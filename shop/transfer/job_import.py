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
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from checklists.engine.figures import grouped
from shop.accounts import roles
from shop.intake import services as intake_services
from shop.jobs import facts as facts_typed
from shop.lib.refusals import BadInput, Refused, bad
from shop.lib.text import quoted

LARGEST_FILE = 64 * 1024 * 1024
MOST_ROWS = 50_000

_ALIASES = {
    "id": "reference",
    "complaint": "problem",
    "owner_name": "customer_name",
    "owner_email": "customer_email",
}
_TEXT_COLUMNS = ("reference", "make", "model", "serial", "category", "year", "problem")
_CUSTOMER_COLUMNS = ("customer_name", "customer_email")
_NOTE_COLUMNS = ("status", "barrier", "country", "language")
_FACT_COLUMNS = tuple(fact.name for fact in facts_typed.TYPED)
COLUMNS = (*_TEXT_COLUMNS, *_CUSTOMER_COLUMNS, *_NOTE_COLUMNS, *_FACT_COLUMNS)


@dataclass
class ImportResult:
    """What an import did or would do: job numbers in row order, and a sentence per bad row."""

    rows: int = 0
    numbers: list[int] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


class _RollBack(Exception):
    """Takes everything back: a dry run, or a row that is wrong."""


def import_csv(file: Path, *, by: User, at: datetime, dry_run: bool = False) -> ImportResult:
    """Import a CSV file and return what happened; with any error, or dry, nothing is kept.

    BadInput when the file as a whole cannot be read.
    """
    roles.require(by, "import")
    result = ImportResult()
    try:
        with transaction.atomic():
            for line, row in _rows(_text(file)):
                _import_row(result, line, row, by=by, at=at)
            if result.errors or dry_run:
                raise _RollBack
    except _RollBack:
        result.numbers = [] if not dry_run else result.numbers
    return result


def _import_row(
    result: ImportResult, line: int, row: dict[str, str], *, by: User, at: datetime
) -> None:
    result.rows += 1
    if result.rows > MOST_ROWS:
        raise bad("file", f"The file has more than {grouped(MOST_ROWS)} rows; split it.")
    try:
        # A savepoint: one bad row must not end the look at the others.
        with transaction.atomic():
            job = intake_services.receive(by=by, at=at, **_arguments(row))
    except BadInput as error:
        result.errors += [f"line {line}: {sentence}" for _, sentence in error.problems]
    except Refused as error:
        # The unit has an open job; whoever sends the file knows what the row is to it.
        result.errors.append(f"line {line}: {error.sentence}")
    else:
        result.numbers.append(job.number)


def _arguments(row: dict[str, str]) -> dict[str, Any]:
    if None in row:
        raise bad(
            "row", "There are more cells than columns in the header; quote cells with commas."
        )
    facts = facts_typed.from_text({name: row[name] for name in _FACT_COLUMNS if row.get(name)})
    if row.get("year", "").strip():
        facts.setdefault("unit.year", facts_typed.value_from_text("unit.year", row["year"]))
    given = {name: (row.get(name) or "").strip() for name in (*_TEXT_COLUMNS, *_CUSTOMER_COLUMNS)}
    if not (given["make"] or given["model"] or given["category"] or given["problem"]):
        raise bad("row", "make, model, category and problem are all empty; say what came in.")
    return {
        "make": given["make"],
        "model": given["model"] or given["category"],
        "serial": given["serial"],
        "complaint": given["problem"],
        "reference": given["reference"],
        "customer_name": given["customer_name"],
        "customer_email": given["customer_email"],
        "facts": facts,
        "note": _note(row),
    }


def _note(row: dict[str, str]) -> str:
    noted = [
        f"{name}: {row[name].strip()}" for name in _NOTE_COLUMNS if (row.get(name) or "").strip()
    ]
    return "Imported with " + "; ".join(noted) if noted else ""


def _text(file: Path) -> str:
    try:
        raw = file.read_bytes() if file.stat().st_size <= LARGEST_FILE else None
    except OSError as error:
        raise bad("file", f"{file} cannot be read: {error.strerror}.") from None
    if raw is None:
        raise bad("file", f"{file} is larger than {LARGEST_FILE // 2**20} MB; split it.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise bad(
            "file", f"{file} is not UTF-8 text (byte {error.start}); save it as CSV UTF-8."
        ) from None


def _rows(content: str) -> Iterator[tuple[int, dict[str, str]]]:
    # The csv module's own limit on a cell is below what the door will judge with a sentence.
    csv.field_size_limit(LARGEST_FILE)
    reader = csv.DictReader(io.StringIO(content, newline=""), strict=True)
    try:
        header = reader.fieldnames
        if not header:
            raise bad("header", "The file is empty; the first line must name the columns.")
        reader.fieldnames = _columns(header)
        for row in reader:
            yield reader.line_num, row
    except csv.Error as error:
        raise bad("file", f"line {reader.line_num}: not readable as CSV: {error}.") from None


def _columns(header: Any) -> list[str]:
    columns = [_ALIASES.get(name.strip().lower(), name.strip().lower()) for name in header]
    problems = [
        (name, f"column {quoted(name)} is not known; use {', '.join(COLUMNS)}.")
        for name in columns
        if name not in COLUMNS
    ]
    problems += [
        (name, f"column {name} is there twice.") for name in set(columns) if columns.count(name) > 1
    ]
    if problems:
        raise BadInput(problems)
    return columns


__all__ = ["COLUMNS", "ImportResult", "import_csv"]
