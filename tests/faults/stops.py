"""What keeps the database from taking a write, and lets it again: for SQLite and PostgreSQL."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from typing import Any

import psycopg
from django.db import OperationalError, connection


def other_connection() -> Any:
    """Return a connection of another program to the same database."""
    given = connection.settings_dict
    if connection.vendor == "sqlite":
        return sqlite3.connect(given["NAME"], isolation_level=None)
    return psycopg.connect(
        dbname=given["NAME"],
        user=given["USER"] or None,
        password=given["PASSWORD"] or None,
        host=given["HOST"] or None,
        port=given["PORT"] or None,
    )


@contextlib.contextmanager
def locked() -> Iterator[None]:
    """Another program holds what every write needs; reads go on."""
    holder = other_connection()
    try:
        if connection.vendor == "sqlite":
            holder.execute("BEGIN IMMEDIATE")
        else:
            holder.execute("LOCK TABLE jobs_job, jobs_ledgerrow IN EXCLUSIVE MODE")
        yield
    finally:
        holder.rollback()
        holder.close()


@contextlib.contextmanager
def full() -> Iterator[None]:
    """No table can grow: on SQLite for real, on PostgreSQL as its error, at every insert.

    On SQLite what fits into pages that are there is still taken.
    """
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA page_count")
            (pages,) = cursor.fetchone()
            cursor.execute(f"PRAGMA max_page_count = {pages}")
            try:
                yield
            finally:
                cursor.execute("PRAGMA max_page_count = 1073741823")
        return
    with fails_at(1, no_room, only="INSERT", stays=True):
        yield


def no_room() -> None:
    """What PostgreSQL says of a full disk (class 53100)."""
    raise OperationalError('could not extend file "base/1/2": No space left on device')


def lost() -> None:
    """End the session of this process from another one, as a restart of the server does."""
    pid = connection.connection.info.backend_pid
    with other_connection() as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", [pid])


@contextlib.contextmanager
def fails_at(
    step: int, fault: Callable[[], None], *, only: str = "", stays: bool = False
) -> Iterator[list[str]]:
    """Let a fault happen before the statement of this number, or from it on; yield what was seen."""
    seen: list[str] = []

    def wrapper(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.startswith(only):
            seen.append(sql)
            if len(seen) == step or (stays and len(seen) > step):
                fault()
        return execute(sql, params, many, context)

    with connection.execute_wrapper(wrapper):
        yield seen
