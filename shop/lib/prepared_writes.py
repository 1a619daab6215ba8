"""Inserts and updates that Django builds once and runs again with other values, as `prepared` queries.

For what every move writes; anything else is plain ORM.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from functools import cache, lru_cache
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Field, ForeignKey, Model


def insert(row: Model) -> None:
    """Insert a new row; it does not learn its key, and no signal is sent."""
    database = connections[DEFAULT_DB_ALIAS]
    sql, fields = _insertion(type(row), database.vendor)
    given = [one.stored(one.field.pre_save(row, True), database) for one in fields]
    with database.cursor() as cursor:
        cursor.execute(sql, given)


def change(
    model: type[Model], values: Mapping[str, Any], where: Mapping[str, Any], *, using: str
) -> int:
    """Set columns of the rows with the values of `where`, and return how many; no signal is sent."""
    where_to = connections[using]
    sql, fields = _change(model, tuple(values), tuple(where), where_to.vendor)
    given = zip(fields, (*values.values(), *where.values()), strict=True)
    with where_to.cursor() as cursor:
        cursor.execute(sql, [one.stored(value, where_to) for one, value in given])
        return cursor.rowcount


@cache
def field_of(model: type[Model], name: str) -> Field[Any, Any]:
    """Return a field that has a column, by its name or its attribute; KeyError when none is."""
    fields = model._meta.concrete_fields
    return {known: field for field in fields for known in (field.name, field.attname)}[name]


class _Column:
    """A column that is written: the field, and the type whose values any database takes as they are."""

    _PLAIN: Mapping[str, type] = {
        **dict.fromkeys(("CharField", "TextField"), str),
        **dict.fromkeys(("AutoField", "BigAutoField", "IntegerField", "BigIntegerField"), int),
        **dict.fromkeys(("PositiveIntegerField", "PositiveSmallIntegerField"), int),
        "BooleanField": bool,
    }

    def __init__(self, field: Field[Any, Any]) -> None:
        self.field = field
        while isinstance(field, ForeignKey):
            field = field.target_field
        kind = field.get_internal_type()
        self._plain, self._is_moment = self._PLAIN.get(kind), kind == "DateTimeField"

    def stored(self, value: Any, to: BaseDatabaseWrapper) -> Any:
        """Return a value as a database takes it; Django is asked where there is more to it."""
        if value is None or type(value) is self._plain:
            return value
        if self._is_moment and type(value) is datetime and value.tzinfo is not None:
            return to.ops.adapt_datetimefield_value(value)
        return self.field.get_db_prep_save(value, to)


@lru_cache(maxsize=256)
def _change(
    model: type[Model], names: tuple[str, ...], where: tuple[str, ...], vendor: str
) -> tuple[str, list[_Column]]:
    fields = [field_of(model, name) for name in (*names, *where)]
    quote = connections[DEFAULT_DB_ALIAS].ops.quote_name
    marks = [f"{quote(str(field.column))} = %s" for field in fields]
    sets, conditions = ", ".join(marks[: len(names)]), " AND ".join(marks[len(names) :])
    table = quote(model._meta.db_table)
    return f"UPDATE {table} SET {sets} WHERE {conditions}", [_Column(field) for field in fields]


@lru_cache
def _insertion(model: type[Model], vendor: str) -> tuple[str, list[_Column]]:
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    quote = connections[DEFAULT_DB_ALIAS].ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    sql = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({marks})"
    return sql, [_Column(field) for field in fields]
