"""A spreadsheet that somebody chose on a page, as rows of text: CSV or XLSX.

An XLSX file is a zip of XML: what it would unpack to is added up before anything is unpacked.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from typing import Any

from django.utils.translation import gettext as _

from checklists.engine.figures import grouped
from shop.lib.refusals import bad
from shop.lib.text import quoted

LARGEST_FILE = 8 * 1024 * 1024
MOST_UNPACKED = 64 * 1024 * 1024
# A page server looks at all of them while somebody waits.
MOST_ROWS = 2_000
MOST_COLUMNS = 100
_DELIMITERS = ",;\t"

Rows = list[list[str]]


def read(name: str, content: bytes) -> tuple[list[str], Rows]:
    """Return the head and the rows, as many cells in each as in the head; BadInput."""
    if len(content) > LARGEST_FILE:
        raise bad(
            "file",
            _("{name} is larger than {number} MB; split it.").format(
                name=quoted(name), number=LARGEST_FILE >> 20
            ),
        )
    cells = _xlsx(name, content) if content.startswith(b"PK\x03\x04") else _csv(name, content)
    head = [cell.strip() for cell in next(cells, [])]
    while head and not head[-1]:
        head.pop()
    if not head:
        raise bad(
            "file",
            _("{name} is empty; the first line must name the columns.").format(name=quoted(name)),
        )
    if len(head) > MOST_COLUMNS:
        raise bad(
            "file",
            _("{name} has more than {most_columns} columns; leave some out.").format(
                name=quoted(name), most_columns=MOST_COLUMNS
            ),
        )
    return head, _rows(name, cells, len(head))


def _rows(name: str, cells: Iterator[list[str]], wide: int) -> Rows:
    rows: Rows = []
    for row in cells:
        while len(row) > wide and not row[-1].strip():
            row = row[:-1]
        if len(row) > wide:
            raise bad(
                "file",
                _(
                    "{name}: row {number} has more cells than the head; quote cells with commas."
                ).format(name=quoted(name), number=len(rows) + 2),
            )
        if any(cell.strip() for cell in row):
            rows.append(row + [""] * (wide - len(row)))
        if len(rows) > MOST_ROWS:
            raise bad(
                "file",
                _(
                    "{name} has more than {grouped} rows; split it, or use manage.py jobs import."
                ).format(name=quoted(name), grouped=grouped(MOST_ROWS)),
            )
    if not rows:
        raise bad("file", _("{name} has a head and no rows.").format(name=quoted(name)))
    return rows


def _csv(name: str, content: bytes) -> Iterator[list[str]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise bad(
            "file",
            _(
                "{name} is not UTF-8 text (near byte {start}); save it as CSV UTF-8, or as XLSX."
            ).format(name=quoted(name), start=error.start),
        ) from None
    first = text.partition("\n")[0]
    delimiter = max(_DELIMITERS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        yield from reader
    except csv.Error as error:
        line = reader.line_num
        raise bad(
            "file",
            _("{name}, line {line}: not readable: {error}.").format(
                name=quoted(name), line=line, error=error
            ),
        ) from None


def _xlsx(name: str, content: bytes) -> Iterator[list[str]]:
    from openpyxl import load_workbook  # noqa: PLC0415 - a fifth of a second, for few

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            unpacked = sum(one.file_size for one in packed.infolist())
        if unpacked > MOST_UNPACKED:
            raise bad(
                "file",
                _("{name} unpacks to more than {number} MB.").format(
                    name=quoted(name), number=MOST_UNPACKED >> 20
                ),
            )
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        for row in sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS + 1):
            yield [_text(cell) for cell in row]
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, IndexError, OSError) as error:
        if isinstance(error, ValueError) and hasattr(error, "problems"):
            raise
        raise bad(
            "file",
            _("{name} cannot be read as XLSX; save it as CSV UTF-8.").format(name=quoted(name)),
        ) from None


def _text(cell: Any) -> str:
    """Return a cell as somebody would type it: 1987 and not 1987.0, a day by ISO 8601."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    if isinstance(cell, datetime) and cell.time() == time():
        return cell.date().isoformat()
    return cell.isoformat() if isinstance(cell, date) else str(cell)
