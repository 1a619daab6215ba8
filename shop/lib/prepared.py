"""Queries that Django builds once and runs again with other values.

Building the SQL of a query takes Django several times as long as SQLite takes to answer it, and
a signature or the home page asks the same dozen again and again. A `Prepared` query is written
with the ORM as any other, is built with stand-ins for its values the first time that it is asked,
and keeps the text. Its rows come from a cursor, and become what the ORM would have made of them.
For what every signature and every page asks; anything else is plain ORM.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache, partial
from itertools import count
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import BigIntegerField, Field, ForeignKey, Model, QuerySet

from shop.lib.as_read import maker_of

M = TypeVar("M", bound=Model)
T = TypeVar("T")
Value = int | datetime | date | str
Converter = Callable[[Any], Any]
# Values that no query holds by itself, and that fit every column of their type.
_INTEGERS = count(2_000_000_011)
_LARGEST = BigIntegerField.MAX_BIGINT
_DAYS = count()
_FAR = datetime(2990, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class _Statement:
    """A query as one kind of database takes it; `places` are the values to fill in, by position."""

    sql: str
    parameters: tuple[Any, ...]
    places: tuple[tuple[int, int], ...]
    converters: tuple[tuple[int, Converter], ...]

    def stored(self, database: BaseDatabaseWrapper, values: Sequence[Value]) -> list[Sequence[Any]]:
        """Run it with these values; nothing has a number that no column can hold."""
        if any(isinstance(value, int) and abs(value) > _LARGEST for value in values):
            return []
        parameters = list(self.parameters)
        for position, place in self.places:
            parameters[position] = _adapted(values[place], database)
        with database.cursor() as cursor:
            cursor.execute(self.sql, parameters)
            return cursor.fetchall()

    def rows(self, database: BaseDatabaseWrapper, values: Sequence[Value]) -> list[Sequence[Any]]:
        """Run it with these values, and return the rows as Python sees them."""
        found = self.stored(database, values)
        return [self.converted(row) for row in found] if self.converters else found

    def converted(self, row: Sequence[Any]) -> Sequence[Any]:
        """Return a row as Python sees it."""
        values = list(row)
        for position, convert in self.converters:
            if values[position] is not None:
                values[position] = convert(values[position])
        return values


class _Kept:
    """The statement of a query, built the first time for each kind of database."""

    def __init__(
        self,
        build: Callable[..., QuerySet[Any, Any]],
        types: Sequence[type[Value]],
        columns: Callable[[QuerySet[Any, Any]], list[tuple[str, Field[Any, Any] | None]]],
    ) -> None:
        self._build, self._types, self._columns = build, types, columns
        self._by_vendor: dict[str, _Statement] = {}

    def statement(self, database: BaseDatabaseWrapper) -> _Statement:
        """Return the statement for a database of this kind."""
        vendor = database.vendor
        built = self._by_vendor.get(vendor)
        if built is None:
            built = self._by_vendor[vendor] = self._built(database)
        return built

    def rows(self, values: Sequence[Value]) -> list[Sequence[Any]]:
        """Return the rows for these values, as Python sees them."""
        # Django looks up whose connection it is each time that something is asked of it.
        database = connections[DEFAULT_DB_ALIAS]
        return self.statement(database).rows(database, values)

    def _built(self, database: BaseDatabaseWrapper) -> _Statement:
        stand_ins = [_stand_in(kind) for kind in self._types]
        queryset = self._build(*stand_ins)
        columns = self._columns(queryset)
        names = [name for name, _ in columns]
        sql, parameters = queryset.values_list(*names).query.sql_with_params()
        places = tuple(_places(parameters, [_adapted(one, database) for one in stand_ins]))
        if {place for _, place in places} != set(range(len(stand_ins))):
            raise ValueError(f"A value of this query is nowhere in it: {sql}")
        found = ((n, _converter(field, database)) for n, (_, field) in enumerate(columns) if field)
        converters = tuple((n, converter) for n, converter in found if converter)
        return _Statement(sql, tuple(parameters), places, converters)


class PreparedRows:
    """A query for some columns or annotations, as tuples, with places for values as `Prepared` has them."""

    def __init__(
        self,
        build: Callable[..., QuerySet[Any, Any]],
        *types: type[Value],
        columns: Sequence[str],
    ) -> None:
        def fields(queryset: QuerySet[Any, Any]) -> list[tuple[str, Field[Any, Any] | None]]:
            counted = queryset.query.annotations
            return [
                (
                    name,
                    counted[name].output_field if name in counted else _field(queryset.model, name),
                )
                for name in columns
            ]

        self._kept = _Kept(build, types, fields)

    def __call__(self, *values: Value) -> list[Sequence[Any]]:
        """Return the rows for these values."""
        return self._kept.rows(values)


class PreparedOnce(PreparedRows, Generic[T]):
    """A query whose rows become objects of `make`: what is stored alike is made once, and shared.

    For rows that are read again and again and never change. The `most` that were asked for last
    are kept. `beside` is one more annotation, which says the same in every row and is of none.
    """

    def __init__(
        self,
        build: Callable[..., QuerySet[Any, Any]],
        *types: type[Value],
        columns: Sequence[str],
        beside: str,
        make: Callable[..., T],
        most: int,
    ) -> None:
        super().__init__(build, *types, columns=[*columns, beside])
        self._make, self._most, self._own = make, most, len(columns)
        self._makers: dict[str, Callable[[Sequence[Any]], T]] = {}

    def objects(self, *values: Value) -> tuple[list[T], Any]:
        """Return the objects for these values, and what stands beside; None where there is no row."""
        database = connections[DEFAULT_DB_ALIAS]
        statement = self._kept.statement(database)
        made = self._makers.get(statement.sql)
        if made is None:
            made = self._makers[statement.sql] = self._maker(statement)
        rows = statement.stored(database, values)
        return [made(row[:-1]) for row in rows], rows[0][-1] if rows else None

    def _maker(self, statement: _Statement) -> Callable[[Sequence[Any]], T]:
        converters = tuple(one for one in statement.converters if one[0] < self._own)
        without = replace(statement, converters=converters)

        def made(row: Sequence[Any]) -> T:
            return self._make(*without.converted(row))

        return lru_cache(maxsize=self._most)(made)


class Prepared(Generic[M]):
    """A query for objects with places for values, each of a type: int, datetime (aware), date or str.

    Everything that changes what is asked (filter, order, slice) belongs into `build`. `related`
    names the foreign keys that are read along, the outer before the inner (`job`, `job__unit`), and `annotated` the
    annotations, which are text or whole numbers.
    """

    def __init__(
        self,
        build: Callable[..., QuerySet[M, Any]],
        *types: type[Value],
        related: Sequence[str] = (),
        annotated: Sequence[str] = (),
    ) -> None:
        self._kept = _Kept(build, types, self._columns)
        self._related, self._annotated = tuple(related), tuple(annotated)
        self._maker: Callable[[Sequence[Any]], M] | None = None

    def __call__(self, *values: Value) -> list[M]:
        """Return the objects for these values."""
        rows = self._kept.rows(values)
        return [self._maker(row) for row in rows] if self._maker else []

    def first(self, *values: Value) -> M | None:
        """Return the first object, or None; the query itself has to say how many it reads."""
        return next(iter(self(*values)), None)

    def _columns(self, queryset: QuerySet[Any, Any]) -> list[tuple[str, Field[Any, Any] | None]]:
        """Name every column in order, and prepare to make objects of them."""
        model = queryset.model
        parts, columns = [_Part(model, "", 0)], _columns_of(model)
        columns += [(name, None) for name in self._annotated]
        for path in self._related:
            target = _target(model, path)
            parts.append(_Part(target, path, len(columns)))
            columns += _columns_of(target, f"{path}__")
        self._maker = partial(_made, parts, self._annotated)
        return columns


class _Part:
    """One model of a row: where its columns begin, and by which attribute it hangs on which part."""

    def __init__(self, model: type[Model], path: str, begin: int) -> None:
        self.path, (self.on, _, self.name) = path, path.rpartition("__")
        self.names = [field.attname for field in model._meta.concrete_fields]
        self.begin, self.end = begin, begin + len(self.names)
        self.key = begin + self.names.index(model._meta.pk.attname)
        self.make = maker_of(model)


def _made(parts: Sequence[_Part], annotated: Sequence[str], row: Sequence[Any]) -> Any:
    made: dict[str, Any] = {}
    for part in parts:
        there = row[part.key] is not None
        values = row[part.begin : part.end]
        one = made[part.path] = part.make(DEFAULT_DB_ALIAS, part.names, values) if there else None
        if part.path and made[part.on] is not None:
            setattr(made[part.on], part.name, one)
    for name, value in zip(annotated, row[parts[0].end :], strict=False):
        setattr(made[""], name, value)
    return made[""]


def _columns_of(model: type[Model], path: str = "") -> list[tuple[str, Field[Any, Any] | None]]:
    return [(path + field.attname, field) for field in model._meta.concrete_fields]


def _field(model: type[Model], path: str) -> Field[Any, Any]:
    *relations, name = path.split("__")
    for relation in relations:
        model = _target(model, relation)
    field = model._meta.get_field(name)
    assert isinstance(field, Field)
    return field


def _target(model: type[Model], path: str) -> type[Model]:
    field = _field(model, path)
    assert isinstance(field, ForeignKey)
    return field.related_model


def _moment(value: datetime | str) -> datetime:
    found = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    # One with an offset was not written by Django, and is shown as what it says.
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _day(value: date | str) -> date:
    return value if isinstance(value, date) else date.fromisoformat(value)


# What becomes of what SQLite gives, by the type of the field; PostgreSQL gives all of it as it is.
_FROM_SQLITE: dict[str, Converter | None] = {
    "DateTimeField": _moment,
    "DateField": _day,
    "BooleanField": bool,
    **dict.fromkeys(("AutoField", "BigAutoField", "CharField", "TextField", "FSMField")),
    **dict.fromkeys(("IntegerField", "BigIntegerField", "PositiveIntegerField", "FloatField")),
    **dict.fromkeys(("SmallIntegerField", "PositiveSmallIntegerField")),
}


def _converter(field: Field[Any, Any], database: BaseDatabaseWrapper) -> Converter | None:
    """Return what makes a value of this field of what the database gives; ValueError when unknown."""
    while isinstance(field, ForeignKey):
        field = field.target_field
    kind = field.get_internal_type()
    if kind not in _FROM_SQLITE or hasattr(field, "from_db_value"):
        raise ValueError(f"{field} is a {kind}: its values cannot be read by a prepared query.")
    return _FROM_SQLITE[kind] if database.vendor == "sqlite" else None


def _stand_in(kind: type[Value]) -> Value:
    if kind is int:
        return next(_INTEGERS)
    if kind is str:
        return f"a text to be filled in, {next(_INTEGERS)}"
    moment = _FAR + timedelta(days=next(_DAYS))
    return moment if kind is datetime else moment.date()


def _adapted(value: Value, database: BaseDatabaseWrapper) -> Any:
    if isinstance(value, datetime):
        return database.ops.adapt_datetimefield_value(value)
    return database.ops.adapt_datefield_value(value) if isinstance(value, date) else value


def _places(parameters: Sequence[Any], stand_ins: list[Any]) -> Iterator[tuple[int, int]]:
    for position, parameter in enumerate(parameters):
        for place, stand_in in enumerate(stand_ins):
            if type(parameter) is not bool and parameter == stand_in:
                yield position, place
