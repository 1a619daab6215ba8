"""The import of a bundle into an empty shop, whole or not at all."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.contrib.auth.models import Group, User
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction
from django.db.models import Model

from shop.jobs import database_guards, head_lists, head_signatures, proofs
from shop.jobs.models import Job, ShopKey
from shop.lib.ed25519 import PublicKey
from shop.manuals.models import ManualFile
from shop.photos.models import MarkedImage, PhotoImage
from shop.transfer import export, tables, upgrades
from shop.transfer.bundle_reading import (
    LARGEST_BUNDLE,
    LARGEST_FILE,
    BundleError,
    member,
    tables_of,
    told,
)

BATCH = 500


@dataclass(frozen=True)
class Imported:
    """The rows of each table that came, and the key that signed the heads of the ledgers, if any."""

    counts: dict[str, int]
    signed_by: str


def import_shop(file: Path) -> Imported:
    """Import a bundle into this empty shop, whole or not at all.

    BundleError when the shop has anything to lose, when the file is no bundle of this edition,
    when a picture or manual is not what its row says, or when a ledger does not hold.
    """
    occupied = _occupied()
    if occupied:
        raise BundleError(
            f"There is something here already ({occupied[0]}); a bundle goes into an empty shop."
        )
    try:
        with zipfile.ZipFile(file) as archive, transaction.atomic():
            return _import(archive, tables_of(archive))
    except BundleError:
        raise
    except head_lists.BadList as error:
        raise BundleError(f"The bundle cannot be imported: {told(error)}.") from None
    except (OSError, zipfile.BadZipFile, KeyError, json.JSONDecodeError) as error:
        raise BundleError(f"{file} is no bundle, or is damaged: {told(error)}.") from None
    except Exception as error:
        # Whatever a foreign file makes the reading of it fail with, the file is what is wrong.
        raise BundleError(f"The bundle cannot be imported: {told(error)}.") from None


def _occupied() -> list[str]:
    try:
        return [tables.label(model) for model in tables.tables() if model._default_manager.exists()]
    except DatabaseError as error:
        raise BundleError(
            f"No shop can be read here; run `migrate` first: {told(error)}."
        ) from None


def _import(archive: zipfile.ZipFile, bundle_tables: upgrades.Tables) -> Imported:
    # The triggers guard single changes; a whole shop is checked at the end instead.
    database_guards.remove(connection)
    for model in tables.tables():
        _insert_rows(archive, model, bundle_tables[tables.label(model)])
    _set_roles(bundle_tables[tables.label(User)])
    # Every reference is looked at now; only then can triggers be put back.
    connection.check_constraints()
    database_guards.install(connection)
    _reset_sequences()
    _require_sound()
    signed_by = _require_signed_as_it_is(archive)
    return Imported({name: len(rows) for name, rows in bundle_tables.items()}, signed_by)


def _insert_rows(archive: zipfile.ZipFile, model: type[Model], rows: list[dict[str, Any]]) -> None:
    for start in range(0, len(rows), BATCH):
        batch = [
            _row(archive, model, values, start + place)
            for place, values in enumerate(rows[start : start + BATCH], start=1)
        ]
        model._default_manager.bulk_create(batch)


def _row(archive: zipfile.ZipFile, model: type[Model], values: dict[str, Any], place: int) -> Model:
    try:
        row = tables.unsaved_row(model, values)
    except (ValueError, TypeError, ArithmeticError, ValidationError) as error:
        label = tables.label(model)
        raise BundleError(
            f"The bundle cannot be imported: row {place} of {label}: {told(error)}."
        ) from None
    for column in tables.binary_columns(model):
        name = export.file_of(model, row.pk, column)
        setattr(row, column, member(archive, name, LARGEST_FILE))
    return row


def _set_roles(users: list[dict[str, Any]]) -> None:
    for row in users:
        groups = [Group.objects.get_or_create(name=name)[0] for name in row[tables.ROLES]]
        User.objects.get(pk=row["id"]).groups.set(groups)


def _reset_sequences() -> None:
    """Let new rows be numbered after those that came."""
    for statement in connection.ops.sequence_reset_sql(no_style(), tables.tables()):
        with connection.cursor() as cursor:
            cursor.execute(statement)


def _require_sound() -> None:
    for fault in proofs.faults():
        raise BundleError(f"The record of the bundle does not hold: {fault}")
    for kind, row, sha256, raw in _files():
        if hashlib.sha256(raw).hexdigest() != sha256:
            raise BundleError(f"{kind} {row} of the bundle is not the one that its row speaks of.")


def _files() -> Iterator[tuple[str, int, str, bytes]]:
    """Yield what came as files: what it is, the key of its row, the hash that is said, the bytes."""
    for picture in PhotoImage.objects.select_related("photo").iterator(chunk_size=50):
        yield "Picture", picture.pk, picture.photo.sha256, bytes(picture.whole)
    for marked in MarkedImage.objects.select_related("image__photo").iterator(chunk_size=50):
        yield "Marked picture", marked.pk, marked.image.photo.marked_sha256, bytes(marked.whole)
    for file in ManualFile.objects.select_related("manual").iterator(chunk_size=5):
        yield "Manual", file.pk, file.manual.sha256, bytes(file.pdf)


def _require_signed_as_it_is(archive: zipfile.ZipFile) -> str:
    """Return the key that signed the heads; BundleError when what is signed is not what it holds."""
    newest = ShopKey.objects.last()
    root = PublicKey.read(newest.public_key) if newest else None
    for fault in head_signatures.verify(root).faults if root else ():
        raise BundleError(f"What is signed in the bundle does not hold: {fault}")
    if export.HEADS not in archive.namelist():
        return ""
    text = member(archive, export.HEADS, LARGEST_BUNDLE)
    signature = member(archive, export.HEADS_SIGNATURE, LARGEST_BUNDLE)
    signed = head_lists.read(text, signature)
    for fault in head_lists.faults(signed):
        raise BundleError(f"What is signed in the bundle does not hold: {fault}")
    if len(signed.heads) != Job.objects.count():
        raise BundleError("The bundle holds other jobs than those whose heads are signed.")
    return signed.fingerprint
