"""Queries that Django builds once and runs again with other values.

Building the SQL of a query takes Django several times as long as SQLite takes to answer it, and
a signature or the home page asks the same dozen again and again. A `Prepared` query is written
with the ORM as any other, is built with stand-ins for its values the first time that it is asked,
and keeps the text. For what every signature and every page asks; anything else is plain ORM.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from itertools import count
from typing import Any, Generic, TypeVar

from django.db import connection
from django.db.models import BigIntegerField, Model, QuerySet

R = TypeVar("R")
Value = int | datetime | date
# Values that no query holds by itself, and that fit every column of their type.
_INTEGERS = count(2_000_000_011)
_LARGEST = BigIntegerField.MAX_BIGINT
_DAYS = count()
_FAR = datetime(2990, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class _Built(Generic[R]):
    """A query as one kind of database takes it; `places` are the values to fill in, by position."""

    queryset: QuerySet[Any, R]
    compiler: Any
    sql: str
    parameters: tuple[Any, ...]
    places: tuple[tuple[int, int], ...]


class Prepared(Generic[R]):
    """A query with places for values, each of a type: int, datetime (aware) or date.

    Called with the values it returns a queryset that has not been run. Everything that changes
    what is asked (filter, order, slice) belongs into `build`.
    """

    def __init__(self, build: Callable[..., QuerySet[Any, R]], *types: type[Value]) -> None:
        self._build = build
        self._types = types
        self._by_vendor: dict[str, _Built[R]] = {}

    def __call__(self, *values: Value) -> QuerySet[Any, R]:
        """Return the query with these values; no row has a number that no column can hold."""
        built = self._by_vendor.get(connection.vendor) or self._built()
        if any(isinstance(value, int) and abs(value) > _LARGEST for value in values):
            return built.queryset.none()
        parameters = list(built.parameters)
        for position, place in built.places:
            parameters[position] = _adapted(values[place])
        compiler = copy.copy(built.compiler)
        compiler.connection = connection
        statement = built.sql, tuple(parameters)
        compiler.as_sql = lambda *_, **__: statement
        found = built.queryset.all()
        found.query.get_compiler = lambda *_, **__: compiler  # type: ignore[method-assign]
        return found

    def first(self, *values: Value) -> R | None:
        """Return the first row, or None; the query itself has to say how many it reads."""
        return next(iter(self(*values)), None)

    def _built(self) -> _Built[R]:
        stand_ins = [_stand_in(kind) for kind in self._types]
        queryset = self._build(*stand_ins)
        compiler = queryset.query.get_compiler(connection=connection)
        sql, parameters = compiler.as_sql()
        places = tuple(_places(parameters, [_adapted(one) for one in stand_ins]))
        if {place for _, place in places} != set(range(len(stand_ins))):
            raise ValueError(f"A value of this query is nowhere in it: {sql}")
        built = _Built(queryset, compiler, sql, tuple(parameters), places)
        self._by_vendor[connection.vendor] = built
        return built


def _stand_in(kind: type[Value]) -> Value:
    if kind is int:
        return next(_INTEGERS)
    moment = _FAR + timedelta(days=next(_DAYS))
    return moment if kind is datetime else moment.date()


def _adapted(value: Value) -> Any:
    if isinstance(value, datetime):
        return connection.ops.adapt_datetimefield_value(value)
    return connection.ops.adapt_datefield_value(value) if isinstance(value, date) else value


def _places(parameters: Sequence[Any], stand_ins: list[Any]) -> Iterator[tuple[int, int]]:
    for position, parameter in enumerate(parameters):
        for place, stand_in in enumerate(stand_ins):
            if type(parameter) is not bool and parameter == stand_in:
                yield position, place


def insert(row: Model) -> None:
    """Insert a new row; it does not learn its key, and no signal is sent."""
    sql, fields = _insertion(type(row), connection.vendor)
    values = [field.get_db_prep_save(field.pre_save(row, True), connection) for field in fields]
    with connection.cursor() as cursor:
        cursor.execute(sql, values)


@lru_cache
def _insertion(model: type[Model], vendor: str) -> tuple[str, list[Any]]:
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    return f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({marks})", fields
