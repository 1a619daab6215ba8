"""Parts of pages that are made once for what they show.

A part is a template that sees nothing but the values it is given. They are its key, with the
language and the addresses in force, and with the time zone where one of them is a moment. So a
part cannot be stale: where a value differs it is another part. And it holds nothing of a request:
nobody's name that is not a value, and for the token of a form a mark that each page fills in.

Whether somebody may do something, and whether a hold stands, is asked anew for each page; only
the words that say so are kept here.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from secrets import token_hex
from threading import Lock
from typing import Any

from django.template.loader import render_to_string
from django.urls import get_script_prefix
from django.utils.functional import Promise
from django.utils.safestring import SafeString
from django.utils.timezone import get_current_timezone_name
from django.utils.translation import get_language

# In characters of all parts and their keys together, in each process.
MOST = 4_000_000
# Stands for the token of a page. It is drawn for each process, so nobody can write it into a value.
_TOKEN = f"token{token_hex(16)}"
_PLAIN = frozenset({str, SafeString, int, bool, type(None), date})


def part(
    template: str,
    values: Mapping[str, Any],
    more: Callable[[], dict[str, Any]] = dict,
    token: object = "",
) -> SafeString:
    """Return what a template says of these values; made before, it is not made again.

    `more` works out what else the template sees, from these values and nothing else. `token` is
    the CSRF token of the page, for a template with a form. TypeError for a value that may change.
    """
    key = (template, *_around(), *values, *map(exact, values.values()))
    found = _parts.get(key)
    if found is None:
        seen = {**values, **more(), "csrf_token": _TOKEN}
        found = SafeString(render_to_string(template, seen).strip())
        _parts.put(key, found)
    return SafeString(found.replace(_TOKEN, str(token))) if _TOKEN in found else found


def forget() -> None:
    """Make every part anew: for tests that change what words or templates say."""
    _parts.clear()


def exact(value: object) -> Hashable:
    """Return a key that is equal only where a template writes the same: 1 is not True, nor 1.0."""
    kind = type(value)
    if kind in _PLAIN:
        return kind, value  # type: ignore[return-value]
    if kind is tuple:
        return (kind, *map(exact, value))  # type: ignore[call-overload]
    if isinstance(value, datetime):
        return kind, value.isoformat(), str(value.tzinfo), get_current_timezone_name()
    if isinstance(value, str | int | date):
        return kind, value
    if isinstance(value, float | Decimal):
        return kind, repr(value)
    if isinstance(value, Promise):
        return kind, str(value)
    names: tuple[str, ...] = _names(kind)  # type: ignore[arg-type]
    return (kind, *(exact(getattr(value, name)) for name in names))


@cache
def _names(kind: type) -> tuple[str, ...]:
    if not (is_dataclass(kind) and kind.__dataclass_params__.frozen):  # type: ignore[attr-defined]
        raise TypeError(f"A {kind.__name__} may change, so nothing is kept by it.")
    return tuple(field.name for field in fields(kind))


def _around() -> tuple[Hashable, ...]:
    return get_language(), get_script_prefix()


def _size_of(key: Hashable) -> int:
    if isinstance(key, tuple):
        return sum(map(_size_of, key))
    return len(key) if isinstance(key, str) else 1


class _LastUsed:
    """The parts that were used last, by their keys."""

    def __init__(self) -> None:
        self._parts: OrderedDict[Hashable, tuple[SafeString, int]] = OrderedDict()
        self._size, self._lock = 0, Lock()

    def get(self, key: Hashable) -> SafeString | None:
        with self._lock:
            found = self._parts.get(key)
            if found is not None:
                self._parts.move_to_end(key)
            return found[0] if found else None

    def put(self, key: Hashable, made: SafeString) -> None:
        with self._lock:
            # Another thread may have made the same meanwhile.
            self._drop(self._parts.pop(key, None))
            self._parts[key] = made, (size := len(made) + _size_of(key))
            self._size += size
            while self._size > MOST:
                self._drop(self._parts.popitem(last=False)[1])

    def _drop(self, kept: tuple[SafeString, int] | None) -> None:
        self._size -= kept[1] if kept else 0

    def clear(self) -> None:
        with self._lock:
            self._parts.clear()
            self._size = 0


_parts = _LastUsed()
