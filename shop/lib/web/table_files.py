"""A table of a page as a file for a spreadsheet: all rows, filtered and sorted as the page shows them.

Numbers stay numbers. A moment stands in the time of the shop, whose zone the head of its column
names; CSV says the offset too, because an hour of a night in autumn comes twice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig, Table

from checklists.engine.figures import grouped
from shop.lib.csv_cells import safe_cell

ASKED = "export"
FORMATS = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
# A page server makes the file while somebody waits; the whole shop goes by `manage.py export`.
MOST_ROWS = 20_000
# The control characters that XML 1.0 has no place for.
_NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_PLAIN = (int, float, Decimal, date)


def asked(
    request: HttpRequest, table: Table, name: str, *, rows_per_page: int
) -> HttpResponse | None:
    """Sort and page a table as asked; return the file when one was asked for, named `name`.

    An unknown format shows the page; too many rows are refused with a sentence.
    """
    wanted = request.GET.get(ASKED)
    as_file = wanted in FORMATS
    paginate: Any = False if as_file else {"per_page": rows_per_page}
    RequestConfig(request, paginate=paginate).configure(table)
    table.as_file = True
    if not as_file:
        return None
    if len(table.rows) > MOST_ROWS:
        return render(request, "tables/too_many.html", {"most": grouped(MOST_ROWS)}, status=422)
    return _answer(str(wanted), table, name)


def _answer(wanted: str, table: Table, name: str) -> HttpResponse:
    answer = HttpResponse(written(wanted, table, name), content_type=FORMATS[wanted])
    stem = f"{name}-{timezone.localdate()}"
    answer["Content-Disposition"] = f'attachment; filename="{stem}.{wanted}"'
    return answer


def written(wanted: str, table: Table, name: str) -> bytes:
    """Return the file: `wanted` is csv or xlsx, `name` the title of the sheet."""
    rows = [list(_cells(table, row)) for row in table.rows]
    heads = [_head(column, [row[at] for row in rows]) for at, column in enumerate(table.columns)]
    # Imported for who asks for a file: each process of the shop would hold it in memory otherwise.
    import tablib  # noqa: PLC0415

    dataset = tablib.Dataset(title=name)
    dataset.headers = heads
    for row in rows:
        dataset.append([_for(wanted, cell) for cell in row])
    content = dataset.export(wanted)
    # A mark in front, so that spreadsheets read it as UTF-8.
    return content if isinstance(content, bytes) else content.encode("utf-8-sig")


def _head(column: Any, cells: list[Any]) -> str:
    """Return what stands over a column, with the zone where moments stand in it."""
    words = str(column.column.attrs.get("in_file") or column.header)
    moments = any(isinstance(cell, datetime) for cell in cells)
    return f"{words} ({timezone.get_current_timezone_name()})" if moments else words


def _cells(table: Table, row: Any) -> Iterator[Any]:
    for column in table.columns:
        cell = _value(table, row, column)
        yield timezone.localtime(cell) if isinstance(cell, datetime) else cell


def _value(table: Table, row: Any, column: Any) -> Any:
    """Return the number or the moment behind a cell, else what the page says."""
    own = any(hasattr(table, f"{way}_{column.name}") for way in ("value", "render"))
    raw = None if own else column.accessor.resolve(row.record, quiet=True)
    cell = raw if isinstance(raw, _PLAIN) else row.get_cell_value(column.name)
    if cell is None or isinstance(cell, _PLAIN):
        return "" if cell is None else cell
    return str(cell)


def _for(wanted: str, cell: Any) -> Any:
    if isinstance(cell, datetime):
        # A cell of XLSX has no zone: the head of its column says it.
        return cell.isoformat(" ", "seconds") if wanted == "csv" else cell.replace(tzinfo=None)
    if isinstance(cell, bool):
        return _("yes") if cell else _("no")
    if wanted == "xlsx" and isinstance(cell, str):
        # XML has no place for them, and the whole file would fail.
        cell = _NOT_IN_XML.sub("", cell)
    return safe_cell(cell)
