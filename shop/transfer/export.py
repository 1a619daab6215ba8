"""Everything out: one zip with a JSON bundle, a CSV for each table, and the pictures."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from datetime import datetime
from typing import IO, Any

from django.db.models import Model

from shop.lib.snapshots import snapshot
from shop.transfer import tables, upgrades

FORMAT = "benchtag-bundle"
OLD_FORMAT = "benchwarden-bundle"
BUNDLE = "bundle.json"
# A spreadsheet takes a cell that begins so for a formula, and runs it: OWASP, CSV injection.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def write(file: IO[bytes], *, now: datetime) -> dict[str, int]:
    """Write the whole shop as it stands at one moment; returns the rows of each table."""
    counts: dict[str, int] = {}
    with snapshot(), zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as whole:
        with whole.open(BUNDLE, "w", force_zip64=True) as raw:
            out = io.TextIOWrapper(raw, encoding="utf-8", newline="\n")
            for piece in _bundle(now, counts):
                out.write(piece)
            out.flush()
            out.detach()
        for model in tables.tables():
            _write_csv(whole, model)
            _write_pictures(whole, model)
    return counts


def _bundle(now: datetime, counts: dict[str, int]) -> Iterator[str]:
    """Yield the bundle piece by piece: a large shop does not fit into memory at once."""
    head = {"format": FORMAT, "version": upgrades.VERSION, "made_at": now.isoformat()}
    yield json.dumps(head)[:-1] + ', "tables": {'
    for place, model in enumerate(tables.tables()):
        name = tables.label(model)
        yield f'{"," if place else ""}\n"{name}": ['
        counts[name] = 0
        for row in tables.rows(model):
            yield ("," if counts[name] else "") + "\n" + _json(tables.plain(row))
            counts[name] += 1
        yield "]"
    yield "}}\n"


def _json(told: dict[str, Any]) -> str:
    return json.dumps(told, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _write_csv(whole: zipfile.ZipFile, model: type[Model]) -> None:
    names = [tables.name_of(one) for one in tables.fields(model)]
    with whole.open(f"tables/{tables.label(model)}.csv", "w", force_zip64=True) as raw:
        out = io.TextIOWrapper(raw, encoding="utf-8-sig", newline="")
        sheet = csv.writer(out)
        sheet.writerow(names)
        for row in tables.rows(model):
            told = tables.plain(row)
            sheet.writerow([cell(told[name]) for name in names])
        out.flush()
        out.detach()


def cell(value: object) -> object:
    """Return a value as a cell that no spreadsheet takes for a formula."""
    if isinstance(value, dict | list):
        value = json.dumps(value, ensure_ascii=False)
    if isinstance(value, str) and value.startswith(_FORMULA):
        return "'" + value
    return value


def _write_pictures(whole: zipfile.ZipFile, model: type[Model]) -> None:
    names = tables.pictures(model)
    if not names:
        return
    for row in tables.rows(model):
        for name in names:
            # Pictures are packed already; packing them again takes time and saves nothing.
            whole.writestr(picture(row.pk, name), bytes(getattr(row, name)), zipfile.ZIP_STORED)


def picture(key: int, name: str) -> str:
    """Return the name of a picture's file in the zip."""
    return f"photos/{key}-{name}.jpg"
