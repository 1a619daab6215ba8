"""Reading for a long time without standing in anybody's way."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def snapshot() -> Iterator[None]:
    """Read the database as it stood at the first look, whatever is written meanwhile.

    `atomic` would not do: on SQLite it takes the lock of writers, and nobody could take mains off
    until it ends; on PostgreSQL two tables could be of two moments. Inside a transaction that is
    open already it adds nothing.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
