"""Tables taken strictly: a fault in one comes out as a sentence that names key, value and what would be right.

Strict: "false" is not `false` and "4" is no number, for a wrong guess would loosen a list.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import Any, Generic, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ValidationError,
    model_validator,
)

from checklists.engine.figures import grouped
from checklists.engine.quoting import quoted

M = TypeVar("M", bound="Table")
T = TypeVar("T")

_WANTED = {
    "string_type": "text",
    "string_too_short": "text that is not empty",
    "bool_type": "true or false",
    "list_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "float_type": "a number",
    "finite_number": "a number",
}


class TableError(ValueError):
    """A table that cannot be taken; `problems` holds one sentence for each fault."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__(" ".join(problems))


class Table(BaseModel):
    """A table with no key but its own."""

    model_config = ConfigDict(strict=True, allow_inf_nan=False, arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def _only_known(cls, table: Any) -> Any:
        stray = sorted(map(str, table.keys() - cls.model_fields)) if is_table(table) else []
        if stray:
            known = ", ".join(sorted(cls.model_fields))
            raise ValueError(f"{', '.join(stray)} is not known here; use {known}.")
        return table


class Builds(Table, Generic[T]):
    """A table that becomes something of a pack."""

    @abstractmethod
    def built(self, file: str) -> T:
        """Return what the table becomes; `file` is where it stands."""


def taken(model: type[M], table: object) -> M:
    """Return the table as the model has it; TableError with a sentence for each fault."""
    try:
        return model.model_validate(table)
    except ValidationError as error:
        raise TableError([_sentence(fault) for fault in error.errors()]) from None


def _sentence(fault: Any) -> str:
    """Say one fault; a message that begins with "is" speaks of the key itself."""
    place = ", ".join(_place(fault["loc"]))
    if fault["type"] == "missing":
        return f"{place} is missing."
    if fault["type"] == "value_error":
        message = str(fault["ctx"]["error"])
        joint = " " if message.startswith("is ") else ": "
        return f"{place}{joint}{message}" if place else message
    wanted = _WANTED.get(fault["type"], "what docs/writing-rules.md says")
    return f"{place} is {quoted(fault['input'])}; it must be {wanted}.".lstrip()


def _place(path: Iterable[str | int]) -> list[str]:
    """Return ("readings", 0, "max") as 'readings 1', 'max'."""
    words: list[str] = []
    for part in path:
        if isinstance(part, int) and words:
            words[-1] += f" {part + 1}"
        else:
            words.append(str(part))
    return words


def is_table(value: object) -> bool:
    """Tell whether a value is a table."""
    return isinstance(value, Mapping)


def must_be(value: object, wanted: str) -> ValueError:
    """Return the error that says what would be right."""
    return ValueError(f"is {quoted(value)}; it must be {wanted}.")


def one_of(words: Iterable[str]) -> AfterValidator:
    """Return a check that a word is one of these."""
    known = tuple(words)

    def check(word: str) -> str:
        if word not in known:
            raise must_be(word, f"one of {', '.join(known)}")
        return word

    return AfterValidator(check)


def member_of(roles: type[StrEnum]) -> BeforeValidator:
    """Return a check that a word is one of the values of an enum."""

    def take(word: object) -> StrEnum:
        known = [role for role in roles if role == word]
        if not known:
            raise must_be(word, f"one of {', '.join(roles)}")
        return known[0]

    return BeforeValidator(take)


def compiled(compile_: Callable[[str], T]) -> BeforeValidator:
    """Return a check that text compiles; an error of the compiler is a ValueError."""

    def take(source: object) -> T:
        if not isinstance(source, str):
            raise must_be(source, "text in CEL")
        return compile_(source)

    return BeforeValidator(take)


def between(low: float, high: float) -> AfterValidator:
    """Return a check that a number lies between two others."""

    def check(amount: float) -> float:
        if not low < amount < high:
            raise must_be(amount, f"above {grouped(low)} and below {grouped(high)}")
        return amount

    return AfterValidator(check)


def finite_number(value: object, wanted: str) -> float:
    """Return the number as a float; ValueError says what was wanted instead."""
    try:
        if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
            return float(value)
    except OverflowError:  # a whole number that no float can hold
        pass
    raise must_be(value, wanted)
