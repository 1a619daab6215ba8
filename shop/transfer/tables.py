"""Which tables go along when a shop is carried out, and each row as plain values and back.

Left behind is what the new place makes itself (the index of the search, sessions), and what must
not leave (passwords, second factors, tokens of the API).
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.db.models import BinaryField, Field, JSONField, Model

OURS = (
    "checklists",
    "parts",
    "service",
    "jobs",
    "photos",
    "desk",
    "estimates",
    "link",
    "post",
    "watch",
)
_OF_A_PERSON = ("id", "username", "first_name", "last_name", "email", "is_active", "date_joined")
ROLES = "roles"


def tables() -> list[type[Model]]:
    """Return the models that go along, people first."""
    ours = [model for label in OURS for model in apps.get_app_config(label).get_models()]
    return [User, *ours]


def label(model: type[Model]) -> str:
    """Return the name of a table in the bundle: 'jobs.ledgerrow'."""
    return model._meta.label_lower


def fields(model: type[Model]) -> list[Field[Any, Any]]:
    """Return the columns that go along; bytes go as files."""
    every = [one for one in model._meta.concrete_fields if not isinstance(one, BinaryField)]
    return [one for one in every if model is not User or one.name in _OF_A_PERSON]


def name_of(field: Field[Any, Any]) -> str:
    """Return a field's name in the bundle: its column, which outlives the names of attributes."""
    return str(field.column)


def pictures(model: type[Model]) -> list[str]:
    """Return the names of the columns that go as files."""
    return [one.attname for one in model._meta.concrete_fields if isinstance(one, BinaryField)]


def rows(model: type[Model]) -> Iterator[Model]:
    """Yield every row by its key, a few at a time."""
    return model._default_manager.order_by("pk").iterator(chunk_size=500)


def plain(row: Model) -> dict[str, Any]:
    """Return a row as values that JSON has, exact: moments to the microsecond, money as text."""
    told = {name_of(one): _plain(one, row) for one in fields(type(row))}
    if isinstance(row, User):
        told[ROLES] = sorted(row.groups.values_list("name", flat=True))
    return told


def _plain(field: Field[Any, Any], row: Model) -> Any:
    value = getattr(row, field.attname)
    if value is None or isinstance(value, bool | int | str) or isinstance(field, JSONField):
        return value
    return str(value) if isinstance(value, Decimal) else field.value_to_string(row)


def made(model: type[Model], told: dict[str, Any]) -> Model:
    """Return the unsaved row of plain values; ValueError names what does not fit."""
    known = {name_of(one): one for one in fields(model)}
    given = {name: value for name, value in told.items() if name != ROLES}
    if given.keys() != known.keys():
        wrong = sorted(given.keys() ^ known.keys())
        raise ValueError(f"{label(model)} does not fit this edition: {', '.join(wrong)}")
    row = model(**{known[name].attname: _back(known[name], value) for name, value in given.items()})
    if isinstance(row, User):
        row.set_unusable_password()
    return row


def _back(field: Field[Any, Any], value: Any) -> Any:
    if value is None or isinstance(field, JSONField):
        return value
    # A reference holds a key of the other table, and is read as one.
    target = getattr(field, "target_field", field)
    return target.to_python(value)
