"""The import of a bundle into an empty shop, whole or not at all."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Any

from django.contrib.auth.models import Group, User
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction
from django.db.models import Model

from shop.jobs import power_triggers, queries
from shop.parts import append_only_triggers
from shop.photos.models import PhotoImage
from shop.transfer import export, tables, upgrades

BATCH = 500
# The triggers guard single changes; a whole shop is checked at the end instead.
TRIGGERS = (power_triggers, append_only_triggers)


class BundleError(Exception):
    """A bundle that was not imported; nothing of it was kept. The message is a sentence."""


def import_shop(file: Path) -> dict[str, int]:
    """Import a bundle into this empty shop and return the rows of each table.

    BundleError when the shop has anything to lose, when the file is no bundle of this edition,
    when a picture is not what its row says, or when a ledger does not hold.
    """
    occupied = [tables.label(model) for model in tables.tables() if model._default_manager.exists()]
    if occupied:
        raise BundleError(
            f"There is something here already ({occupied[0]}); a bundle goes into an empty shop."
        )
    try:
        with zipfile.ZipFile(file) as archive, transaction.atomic():
            return _import(archive, _tables_of(archive))
    except (OSError, zipfile.BadZipFile, KeyError, json.JSONDecodeError) as error:
        raise BundleError(f"{file} is no bundle, or is damaged: {error}.") from None
    except (ValueError, TypeError, ValidationError, DatabaseError) as error:
        raise BundleError(f"The bundle cannot be imported: {error}") from None


def _tables_of(archive: zipfile.ZipFile) -> upgrades.Tables:
    bundle = json.loads(archive.read(export.BUNDLE))
    formats = (export.FORMAT, export.OLD_FORMAT)
    if not isinstance(bundle, dict) or bundle.get("format") not in formats:
        raise BundleError("The file holds no bundle of a shop.")
    version: Any = bundle.get("version")
    if version not in range(1, upgrades.VERSION + 1):
        raise BundleError(
            f"The bundle is of version {version}; this edition reads 1 to {upgrades.VERSION}."
        )
    upgraded = upgrades.upgrade(bundle["tables"], version)
    known = {tables.label(model) for model in tables.tables()}
    if upgraded.keys() != known:
        raise BundleError(
            f"Tables differ from this edition: {', '.join(sorted(upgraded.keys() ^ known))}."
        )
    return upgraded


def _import(archive: zipfile.ZipFile, bundle_tables: upgrades.Tables) -> dict[str, int]:
    for triggers in TRIGGERS:
        triggers.remove(connection)
    for model in tables.tables():
        _insert_rows(archive, model, bundle_tables[tables.label(model)])
    _set_roles(bundle_tables[tables.label(User)])
    # Every reference is looked at now; only then can triggers be put back.
    connection.check_constraints()
    for triggers in TRIGGERS:
        triggers.install(connection)
    _reset_sequences()
    _require_sound()
    return {name: len(rows) for name, rows in bundle_tables.items()}


def _insert_rows(archive: zipfile.ZipFile, model: type[Model], rows: list[dict[str, Any]]) -> None:
    for start in range(0, len(rows), BATCH):
        batch = [tables.unsaved_row(model, values) for values in rows[start : start + BATCH]]
        for row in batch:
            for column in tables.binary_columns(model):
                setattr(row, column, archive.read(export.picture_file(row.pk, column)))
        model._default_manager.bulk_create(batch)


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
    for fault in queries.ledger_faults():
        raise BundleError(f"A ledger of the bundle does not hold: {fault}")
    for picture in PhotoImage.objects.select_related("photo").iterator(chunk_size=50):
        if hashlib.sha256(bytes(picture.whole)).hexdigest() != picture.photo.sha256:
            raise BundleError(
                f"Picture {picture.pk} of the bundle is not the one that its row speaks of."
            )
