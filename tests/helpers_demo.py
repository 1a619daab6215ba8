"""The demo shop as rows: writing it takes seconds, putting its rows into a table does not."""

from __future__ import annotations

import fcntl
import pickle
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.management.color import no_style
from django.db import connection, models, transaction

from shop.demo import units
from shop.jobs import database_guards

# Made by `migrate` in every database, and never the shop's.
OF_DJANGO = (ContentType, Permission)
Rows = dict[str, tuple[list[str], list[tuple[Any, ...]]]]


def rows_of_the_demo(folder: Path) -> Rows:
    """Return the rows of a demo shop, written by the first process of a run that asks."""
    file = folder / "demo.pickle"
    with (folder / "demo.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.exists():
            file.write_bytes(pickle.dumps(_written()))
    return pickle.loads(file.read_bytes())


def _written() -> Rows:
    with transaction.atomic():
        units.write()
        rows = {model._meta.db_table: _rows(model) for model in the_models()}
        transaction.set_rollback(True)
    return {table: found for table, found in rows.items() if found[1]}


def the_models() -> list[type[models.Model]]:
    every = apps.get_models(include_auto_created=True)
    return [m for m in every if m._meta.managed and not m._meta.proxy and m not in OF_DJANGO]


def _rows(model: type[models.Model]) -> tuple[list[str], list[tuple[Any, ...]]]:
    columns = [field.column for field in model._meta.concrete_fields]
    with connection.cursor() as cursor:
        names = ", ".join(connection.ops.quote_name(column) for column in columns)
        cursor.execute(f"SELECT {names} FROM {connection.ops.quote_name(model._meta.db_table)}")
        return columns, [tuple(_plain(value) for value in row) for row in cursor.fetchall()]


def _plain(value: Any) -> Any:
    return bytes(value) if isinstance(value, memoryview) else value


def put_in(rows: Rows) -> None:
    """Put the rows into an empty shop; keys are checked when the transaction ends."""
    with without_triggers(), transaction.atomic(), connection.cursor() as cursor:
        for table, (columns, values) in rows.items():
            names = ", ".join(connection.ops.quote_name(column) for column in columns)
            marks = ", ".join(["%s"] * len(columns))
            table = connection.ops.quote_name(table)
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", values)
        for statement in connection.ops.sequence_reset_sql(no_style(), the_models()):
            cursor.execute(statement)


def empty_the_shop() -> None:
    """Delete the rows of every table that has some, whatever their order."""
    with without_triggers(), transaction.atomic(), connection.cursor() as cursor:
        tables = [connection.ops.quote_name(model._meta.db_table) for model in the_models()]
        looks = [f"SELECT '{table}' WHERE EXISTS (SELECT 1 FROM {table})" for table in tables]
        cursor.execute(" UNION ALL ".join(looks))
        for (table,) in cursor.fetchall():
            cursor.execute(f"DELETE FROM {table}")


@contextmanager
def without_triggers() -> Iterator[None]:
    """Take the triggers away for a while, as no code of the shop may.

    They speak of commands; rows that are put in whole come by none.
    """
    database_guards.remove(connection)
    yield
    database_guards.install(connection)
