"""How long a write waits for another one before it gives up."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress

from django.db import DatabaseError, connection


@contextmanager
def at_most(milliseconds: int) -> Iterator[None]:
    """Within the block, give up on a lock after so long: OperationalError instead of a long wait.

    milliseconds: of one wait. Entered outside of a transaction.
    """
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout")
            (usual,) = cursor.fetchone()
            cursor.execute(f"PRAGMA busy_timeout = {int(milliseconds)}")
        after = f"PRAGMA busy_timeout = {int(usual)}"
    else:
        with connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = {int(milliseconds)}")
        after = "SET lock_timeout = DEFAULT"
    try:
        yield
    finally:
        # A connection that is lost has nothing to go back to.
        with suppress(DatabaseError), connection.cursor() as cursor:
            cursor.execute(after)
