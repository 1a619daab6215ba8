"""Everything in: a bundle into an empty shop, whole or not at all."""

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
from shop.photos.models import Picture
from shop.transfer import export, tables, upgrades

BATCH = 500
# The database's own last words speak of moves; a whole shop that is put back makes none.
TRIGGERS = (power_triggers, append_only_triggers)


class CarryError(Exception):
    """A bundle that was not taken in; nothing of it was kept. The message is a sentence."""


def read(file: Path) -> dict[str, int]:
    """Put a bundle into this empty shop and return the rows of each table.

    CarryError when the shop has anything to lose, when the file is no bundle of this edition,
    when a picture is not what its row says, or when a ledger does not hold.
    """
    full = [tables.label(model) for model in tables.tables() if model._default_manager.exists()]
    if full:
        raise CarryError(
            f"There is something here already ({full[0]}); a bundle goes into an empty shop."
        )
    try:
        with zipfile.ZipFile(file) as whole, transaction.atomic():
            return _read(whole, _tables_of(whole))
    except (OSError, zipfile.BadZipFile, KeyError, json.JSONDecodeError) as error:
        raise CarryError(f"{file} is no bundle, or is damaged: {error}.") from None
    except (ValueError, TypeError, ValidationError, DatabaseError) as error:
        raise CarryError(f"The bundle cannot be taken in: {error}") from None


def _tables_of(whole: zipfile.ZipFile) -> upgrades.Tables:
    bundle = json.loads(whole.read(export.BUNDLE))
    if not isinstance(bundle, dict) or bundle.get("format") not in (
        export.FORMAT,
        export.OLD_FORMAT,
    ):
        raise CarryError("The file holds no bundle of a shop.")
    version: Any = bundle.get("version")
    if version not in range(1, upgrades.VERSION + 1):
        raise CarryError(
            f"The bundle is of version {version}; this edition reads 1 to {upgrades.VERSION}."
        )
    found = upgrades.upgrade(bundle["tables"], version)
    known = {tables.label(model) for model in tables.tables()}
    if found.keys() != known:
        raise CarryError(
            f"Tables differ from this edition: {', '.join(sorted(found.keys() ^ known))}."
        )
    return found


def _read(whole: zipfile.ZipFile, found: upgrades.Tables) -> dict[str, int]:
    for triggers in TRIGGERS:
        triggers.remove(connection)
    for model in tables.tables():
        _fill(whole, model, found[tables.label(model)])
    _take_roles(found[tables.label(User)])
    # Every reference is looked at now; only then can triggers be put back.
    connection.check_constraints()
    for triggers in TRIGGERS:
        triggers.install(connection)
    _count_on()
    _check()
    return {name: len(rows) for name, rows in found.items()}


def _fill(whole: zipfile.ZipFile, model: type[Model], told: list[dict[str, Any]]) -> None:
    for start in range(0, len(told), BATCH):
        made = [tables.made(model, row) for row in told[start : start + BATCH]]
        for row in made:
            for name in tables.pictures(model):
                setattr(row, name, whole.read(export.picture(row.pk, name)))
        model._default_manager.bulk_create(made)


def _take_roles(told: list[dict[str, Any]]) -> None:
    for row in told:
        groups = [Group.objects.get_or_create(name=name)[0] for name in row[tables.ROLES]]
        User.objects.get(pk=row["id"]).groups.set(groups)


def _count_on() -> None:
    """Let new rows be numbered after those that came."""
    for statement in connection.ops.sequence_reset_sql(no_style(), tables.tables()):
        with connection.cursor() as cursor:
            cursor.execute(statement)


def _check() -> None:
    for fault in queries.ledger_faults():
        raise CarryError(f"A ledger of the bundle does not hold: {fault}")
    for one in Picture.objects.select_related("photo").iterator(chunk_size=50):
        if hashlib.sha256(bytes(one.whole)).hexdigest() != one.photo.sha256:
            raise CarryError(
                f"Picture {one.pk} of the bundle is not the one that its row speaks of."
            )
