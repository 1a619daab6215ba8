"""Which tables are exported, and each row as plain values and back.

Not exported is what the new place makes itself (the index of the search, sessions,
how often a calculator is used), and what must not leave (passwords, second factors, tokens of the API,
the password of the mail server).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from math import isfinite
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.db.models import (
    BinaryField,
    BooleanField,
    Field,
    FloatField,
    ForeignKey,
    IntegerField,
    JSONField,
    Model,
)

EXPORTED_APPS = (
    "preferences",
    "checklists",
    "parts",
    "instruments",
    "service",
    "jobs",
    "sound",
    "photos",
    "manuals",
    "desk",
    "estimates",
    "bills",
    "link",
    "announced",
    "post",
    "watch",
)
# Sealed by a key that stays behind, too.
SECRET_TABLES = ("preferences.sealedsetting",)
# What an instrument is asked for now is over before a bundle is anywhere.
PASSING_TABLES = ("instruments.request",)
_USER_COLUMNS = ("id", "username", "first_name", "last_name", "email", "is_active", "date_joined")
ROLES = "roles"
_JSON_WORDS = {
    bool: "yes or no",
    int: "a number",
    float: "a number",
    str: "text",
    list: "a list",
    dict: "an object",
}


def tables() -> list[type[Model]]:
    """Return the models that are exported, users first."""
    models = [model for app in EXPORTED_APPS for model in apps.get_app_config(app).get_models()]
    left_out = SECRET_TABLES + PASSING_TABLES
    return [User, *(model for model in models if label(model) not in left_out)]


def label(model: type[Model]) -> str:
    """Return the name of a table in the bundle: 'jobs.ledgerrow'."""
    return model._meta.label_lower


def fields(model: type[Model]) -> list[Field[Any, Any]]:
    """Return the fields that are exported as columns; bytes go as files."""
    concrete = [
        field for field in model._meta.concrete_fields if not isinstance(field, BinaryField)
    ]
    return [field for field in concrete if model is not User or field.name in _USER_COLUMNS]


def column_of(field: Field[Any, Any]) -> str:
    """Return a field's name in the bundle: its column, which outlives the names of attributes."""
    return str(field.column)


def binary_columns(model: type[Model]) -> list[str]:
    """Return the names of the columns that go as files."""
    return [
        field.attname for field in model._meta.concrete_fields if isinstance(field, BinaryField)
    ]


def rows(model: type[Model]) -> Iterator[Model]:
    """Yield every row by its key, a few at a time."""
    return model._default_manager.order_by("pk").iterator(chunk_size=500)


def row_values(row: Model) -> dict[str, Any]:
    """Return a row as values that JSON has, exact: moments to the microsecond, money as text."""
    values = {column_of(field): _plain_value(field, row) for field in fields(type(row))}
    if isinstance(row, User):
        values[ROLES] = sorted(row.groups.values_list("name", flat=True))
    return values


def _plain_value(field: Field[Any, Any], row: Model) -> Any:
    value = getattr(row, field.attname)
    if value is None or isinstance(value, bool | int | str) or isinstance(field, JSONField):
        return value
    return str(value) if isinstance(value, Decimal) else field.value_to_string(row)


def unsaved_row(model: type[Model], values: dict[str, Any]) -> Model:
    """Return the unsaved row of plain values; ValueError names what does not fit."""
    field_by_column = {column_of(field): field for field in fields(model)}
    value_by_column = {name: value for name, value in values.items() if name != ROLES}
    if value_by_column.keys() != field_by_column.keys():
        unexpected = sorted(value_by_column.keys() ^ field_by_column.keys())
        raise ValueError(f"{label(model)} does not fit this edition: {', '.join(unexpected)}")
    if not isinstance(values.get(ROLES, []), list):
        raise ValueError(f"{ROLES} is no list")
    row = model(
        **{
            field.attname: _field_value(field, value_by_column[column])
            for column, field in field_by_column.items()
        }
    )
    if isinstance(row, User):
        row.set_unusable_password()
    return row


def _field_value(field: Field[Any, Any], value: Any) -> Any:
    # A reference holds a key of the other table, which may be a reference itself, and is read as one.
    target = field
    while isinstance(target, ForeignKey):
        target = target.target_field
    if isinstance(target, JSONField):
        return value
    if value is None:
        if not field.null:
            raise ValueError(f"{column_of(field)} is empty")
        return None
    _require_type(target, column_of(field), value)
    return _sensible(column_of(field), target.to_python(value))


def _require_type(field: Field[Any, Any], column: str, value: Any) -> None:
    """Raise ValueError for a value of another kind than the export writes for such a field."""
    kinds, wanted = _kinds(field)
    if type(value) not in kinds:
        given = _JSON_WORDS.get(type(value), "something else")
        raise ValueError(f"{column} is {given}; it must be {wanted}")
    longest = field.max_length
    if longest is not None and isinstance(value, str) and len(value) > longest:
        raise ValueError(f"{column} has {len(value)} letters; at most {longest} are kept")


def _kinds(field: Field[Any, Any]) -> tuple[tuple[type, ...], str]:
    if isinstance(field, BooleanField):
        return (bool,), "yes or no"
    if isinstance(field, IntegerField):
        return (int,), "a whole number"
    if isinstance(field, FloatField):
        return (str, int, float), "a number"
    return (str,), "text"


def _sensible(column: str, value: Any) -> Any:
    if isinstance(value, float) and not isfinite(value):
        raise ValueError(f"{column} is {value}; it must be a number")
    if isinstance(value, datetime) and value.tzinfo is None:
        raise ValueError(f"{column} is a moment without its time zone")
    return value
