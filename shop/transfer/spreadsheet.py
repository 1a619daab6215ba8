"""A CSV file of jobs: packed, its header read, its rows one after the other."""

from __future__ import annotations

import codecs
import csv
import gzip
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.utils.translation import gettext

from checklists.engine.figures import grouped
from shop.jobs import facts as facts_typed
from shop.lib.refusals import BadInput, bad
from shop.lib.text import quoted

LARGEST_FILE = 64 * 1024 * 1024
MOST_ROWS = 250_000
_PIECE = 1024 * 1024

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


def packed(file: Path) -> bytes:
    """Return the file, compressed, so that what is written is what was looked at; BadInput."""
    kept, size, decoder = io.BytesIO(), 0, codecs.getincrementaldecoder("utf-8")()
    try:
        with file.open("rb") as raw, gzip.GzipFile(fileobj=kept, mode="wb", mtime=0) as out:
            while piece := raw.read(_PIECE):
                if size + len(piece) > LARGEST_FILE:
                    raise bad(
                        "file",
                        gettext("{file} is larger than {number} MB; split it.").format(
                            file=file, number=LARGEST_FILE >> 20
                        ),
                    )
                decoder.decode(piece)
                out.write(piece)
                size += len(piece)
            decoder.decode(b"", final=True)
    except OSError as error:
        raise bad(
            "file",
            gettext("{file} cannot be read: {strerror}.").format(
                file=file, strerror=error.strerror
            ),
        ) from None
    except UnicodeDecodeError as error:
        place = f"near byte {size + error.start}"
        raise bad(
            "file",
            gettext("{file} is not UTF-8 text ({place}); save it as CSV UTF-8.").format(
                file=file, place=place
            ),
        ) from None
    return kept.getvalue()


def count(content: bytes) -> int:
    """Return how many rows it has; BadInput when it cannot be read to its end, or has too many."""
    rows = 0
    for rows, _ in enumerate(lines(content), start=1):
        if rows > MOST_ROWS:
            raise bad(
                "file",
                gettext("The file has more than {grouped} rows; split it.").format(
                    grouped=grouped(MOST_ROWS)
                ),
            )
    return rows


def lines(content: bytes) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield each row with the line that it ends on; BadInput for what is no CSV or a strange column."""
    # The csv module's own limit on a cell is below what the door will judge with a sentence.
    csv.field_size_limit(LARGEST_FILE)
    with gzip.open(io.BytesIO(content), "rt", encoding="utf-8-sig", newline="") as text:
        reader = csv.DictReader(text, strict=True)
        try:
            header = reader.fieldnames
            if not header:
                raise bad(
                    "header", gettext("The file is empty; the first line must name the columns.")
                )
            reader.fieldnames = _columns(header)
            for row in reader:
                yield reader.line_num, row
        except csv.Error as error:
            raise bad(
                "file",
                gettext("line {line_num}: not readable as CSV: {error}.").format(
                    line_num=reader.line_num, error=error
                ),
            ) from None


def our_name(column: str) -> str:
    """Return what we call a column: an alias by its name, whatever the letters' size."""
    plain = column.strip().lower()
    return _ALIASES.get(plain, plain)


def _columns(header: Any) -> list[str]:
    columns = [our_name(name) for name in header]
    problems = [
        (
            name,
            gettext("column {name} is not known; use {columns}.").format(
                name=quoted(name), columns=", ".join(COLUMNS)
            ),
        )
        for name in columns
        if name not in COLUMNS
    ]
    problems += [
        (name, gettext("column {name} is there twice.").format(name=name))
        for name in set(columns)
        if columns.count(name) > 1
    ]
    if problems:
        raise BadInput(problems)
    return columns


def arguments(row: dict[str, str]) -> dict[str, Any]:
    """Return a row as what intake takes; BadInput names what is wrong."""
    if None in row:
        raise bad(
            "row",
            gettext("There are more cells than columns in the header; quote cells with commas."),
        )
    facts = facts_typed.from_text({name: row[name] for name in _FACT_COLUMNS if row.get(name)})
    if (row.get("year") or "").strip():
        facts.setdefault("unit.year", facts_typed.value_from_text("unit.year", row["year"]))
    given = {name: (row.get(name) or "").strip() for name in (*_TEXT_COLUMNS, *_CUSTOMER_COLUMNS)}
    if not (given["make"] or given["model"] or given["category"] or given["problem"]):
        raise bad(
            "row", gettext("make, model, category and problem are all empty; say what came in.")
        )
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
