"""The export of the whole shop: one zip with a JSON bundle, a CSV for each table, pictures and manuals."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from datetime import datetime
from typing import IO, Any

from django.db.models import Model

from shop.jobs import head_lists, shop_keys
from shop.lib.csv_cells import safe_cell
from shop.lib.snapshots import snapshot
from shop.photos.models import PhotoImage
from shop.transfer import tables, upgrades

FORMAT = "benchtag-bundle"
OLD_FORMAT = "benchwarden-bundle"
BUNDLE = "bundle.json"
# The heads of all ledgers, and their signature by the key of the shop.
HEADS, HEADS_SIGNATURE = "heads.txt", "heads.sig"


def export_shop(file: IO[bytes], *, now: datetime) -> dict[str, int]:
    """Write the whole shop as it stands at one moment; returns the rows of each table."""
    counts: dict[str, int] = {}
    # Before the snapshot: the first key of a shop is written down.
    signing = shop_keys.for_signing(now)
    with snapshot(), zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        with archive.open(BUNDLE, "w", force_zip64=True) as binary_file:
            text_file = io.TextIOWrapper(binary_file, encoding="utf-8", newline="\n")
            for chunk in _bundle(now, counts):
                text_file.write(chunk)
            text_file.flush()
            text_file.detach()
        for model in tables.tables():
            _write_csv(archive, model)
            _write_files(archive, model)
        if signing is not None:
            text, signature = head_lists.write(head_lists.heads(), signing, now.isoformat())
            archive.writestr(HEADS, text)
            archive.writestr(HEADS_SIGNATURE, signature)
    return counts


def _bundle(now: datetime, counts: dict[str, int]) -> Iterator[str]:
    """Yield the bundle piece by piece: a large shop does not fit into memory at once."""
    head = {"format": FORMAT, "version": upgrades.VERSION, "made_at": now.isoformat()}
    yield json.dumps(head)[:-1] + ', "tables": {'
    for position, model in enumerate(tables.tables()):
        label = tables.label(model)
        yield f'{"," if position else ""}\n"{label}": ['
        counts[label] = 0
        for row in tables.rows(model):
            yield ("," if counts[label] else "") + "\n" + _json(tables.row_values(row))
            counts[label] += 1
        yield "]"
    yield "}}\n"


def _json(values: dict[str, Any]) -> str:
    return json.dumps(values, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _write_csv(archive: zipfile.ZipFile, model: type[Model]) -> None:
    columns = [tables.column_of(field) for field in tables.fields(model)]
    with archive.open(f"tables/{tables.label(model)}.csv", "w", force_zip64=True) as binary_file:
        text_file = io.TextIOWrapper(binary_file, encoding="utf-8-sig", newline="")
        writer = csv.writer(text_file)
        writer.writerow(columns)
        for row in tables.rows(model):
            values = tables.row_values(row)
            writer.writerow([safe_cell(values[name]) for name in columns])
        text_file.flush()
        text_file.detach()


def _write_files(archive: zipfile.ZipFile, model: type[Model]) -> None:
    columns = tables.binary_columns(model)
    if not columns:
        return
    for row in tables.rows(model):
        for column in columns:
            # They are packed already; packing them again takes time and saves nothing.
            name = file_of(model, row.pk, column)
            archive.writestr(name, bytes(getattr(row, column)), zipfile.ZIP_STORED)


def file_of(model: type[Model], key: int, column: str) -> str:
    """Return the name in the zip of the bytes of a row: pictures have a folder of their own."""
    if model is PhotoImage:
        return f"photos/{key}-{column}.jpg"
    return f"files/{tables.label(model)}/{key}-{column}"
