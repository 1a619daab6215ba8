"""Triggers of the database: put in place, taken away, and looked at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.db.backends.base.base import BaseDatabaseWrapper

_ON_POSTGRESQL = """
    SELECT t.tgname, t.tgenabled, p.proname, p.prosrc
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
    WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace"""


@dataclass(frozen=True, kw_only=True)
class TriggerSet:
    """Triggers that belong together: by name, the statement that makes each.

    `tables` names the table of each by the first word of its name; `former` are those that older
    releases had; `functions` are what triggers of PostgreSQL call, by name.
    """

    sqlite: Mapping[str, str]
    postgresql: Mapping[str, str]
    functions: Mapping[str, str]
    tables: Mapping[str, str]
    former: Sequence[str] = field(default=())

    def install(self, connection: BaseDatabaseWrapper) -> None:
        """Put every trigger in place; those that are there already are made anew."""
        self.remove(connection)
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                for statement in self.functions.values():
                    cursor.execute(statement)
            for statement in self._of(connection).values():
                cursor.execute(statement)

    def remove(self, connection: BaseDatabaseWrapper) -> None:
        """Take every trigger away: to rebuild or empty the tables, and to go back."""
        on_postgresql = connection.vendor == "postgresql"
        with connection.cursor() as cursor:
            for name in (*self._of(connection), *self.former):
                table = f" ON {self.tables[name.split('_')[0]]}" if on_postgresql else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}{table}")

    def faults(self, connection: BaseDatabaseWrapper) -> list[str]:
        """Return a sentence for each trigger that is not there, or is not the one of this edition."""
        placed = _on_sqlite(connection) if connection.vendor == "sqlite" else None
        if placed is not None:
            return _differing(placed, {name: _plain(sql) for name, sql in self.sqlite.items()})
        return _differing(_on_postgresql(connection), self._called())

    def names(self) -> set[str]:
        """Return the names of all, those of older releases included."""
        return {*self.sqlite, *self.postgresql, *self.former}

    def _of(self, connection: BaseDatabaseWrapper) -> Mapping[str, str]:
        return self.sqlite if connection.vendor == "sqlite" else self.postgresql

    def _called(self) -> dict[str, str]:
        """Return what each trigger of PostgreSQL runs: the body of its function."""
        bodies = {name: _plain(sql.split("$$")[1]) for name, sql in self.functions.items()}
        called = {
            name: sql.split("EXECUTE FUNCTION ")[1].split("(")[0]
            for name, sql in self.postgresql.items()
        }
        return {name: bodies[function] for name, function in called.items()}


def _differing(placed: Mapping[str, str], wanted: Mapping[str, str]) -> list[str]:
    missing = [f"The trigger {name} is missing." for name in wanted if name not in placed]
    other = [
        f"The trigger {name} is not that of this edition."
        for name, sql in wanted.items()
        if placed.get(name, sql) != sql
    ]
    return missing + other


def placed(connection: BaseDatabaseWrapper) -> set[str]:
    """Return the names of every trigger that the database has, whoever made it."""
    found = _on_sqlite if connection.vendor == "sqlite" else _on_postgresql
    return set(found(connection))


def _on_sqlite(connection: BaseDatabaseWrapper) -> dict[str, str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        return {name: _plain(sql) for name, sql in cursor.fetchall()}


def _on_postgresql(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """Return the body of the function of each; one that is switched off runs none."""
    with connection.cursor() as cursor:
        cursor.execute(_ON_POSTGRESQL)
        rows = cursor.fetchall()
    return {name: _plain(body) if on in ("O", "A") else "" for name, on, _, body in rows}


def _plain(sql: str) -> str:
    return " ".join(sql.split())
