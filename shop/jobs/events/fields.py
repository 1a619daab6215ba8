"""Types of the fields that events share: what is taken, and in words what would be right.

A type says in one place how a value is read, how the API describes it, and what people are told
when it is wrong. Words that begin with "it must be" follow the field's name and the value.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from django.utils.translation import gettext as _
from pydantic import BeforeValidator, Field, GetCoreSchemaHandler, Strict, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from checklists.engine.quoting import quoted
from checklists.engine.vocabulary import OTHER
from shop.lib import text, typed_numbers
from shop.lib.money import FINEST_PLACES
from shop.lib.phrases import said
from shop.lib.refusals import bad
from shop.preferences import current as preferences

LONGEST_NOTE = 20_000
LONGEST_NAME = 200
# The type of a pydantic error that carries our own words.
WANTED = "wanted"


def _wanted(schema: CoreSchema, words: str) -> CoreSchema:
    return core_schema.custom_error_schema(
        schema, custom_error_type=WANTED, custom_error_message=words
    )


@dataclass(frozen=True, slots=True)
class Wanted:
    """What would be right, in place of every error of the type: 'it must be true or false'."""

    words: str

    def __get_pydantic_core_schema__(self, of: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return the schema of the type with these words."""
        return _wanted(handler(of), self.words)


@dataclass(frozen=True, slots=True)
class OneOf:
    """One word of a closed list."""

    words: tuple[str, ...]

    def __get_pydantic_core_schema__(self, of: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return a schema that takes exactly these words."""
        word = core_schema.literal_schema(list(self.words))
        return _wanted(word, f"it must be one of {', '.join(self.words)}")


@dataclass(frozen=True, slots=True)
class SomeOf:
    """A list of words of a closed list; each is kept once."""

    words: tuple[str, ...]

    def __get_pydantic_core_schema__(self, of: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return a schema that takes a list of exactly these words."""
        words = core_schema.list_schema(core_schema.literal_schema(list(self.words)), strict=True)
        once = core_schema.no_info_after_validator_function(lambda x: list(dict.fromkeys(x)), words)
        return _wanted(once, f"it must be a list out of {', '.join(self.words)}")


@dataclass(frozen=True, slots=True)
class Number:
    """A finite number between two bounds, both included; `of` says of what: ' of minutes'."""

    low: float
    high: float
    of: str = ""

    def __get_pydantic_core_schema__(self, of: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return a schema that takes whole and broken numbers, not text, not flags."""
        number = core_schema.float_schema(
            ge=self.low, le=self.high, allow_inf_nan=False, strict=True
        )
        return _wanted(number, f"it must be a number{self.of} from {self.low:g} to {self.high:g}")


@dataclass(frozen=True, slots=True)
class Text:
    """Text of any script, stripped, without control characters."""

    longest: int
    needed: bool = False

    def __get_pydantic_core_schema__(self, of: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return a schema that reads it by `shop.lib.text`."""
        shortest = 1 if self.needed else None
        kept = core_schema.str_schema(min_length=shortest, max_length=self.longest)
        return core_schema.with_info_before_validator_function(self._take, kept)

    def _take(self, value: Any, info: ValidationInfo) -> str:
        return text.take(str(info.field_name), value, self.longest, needed=self.needed)


def require_words(name: str, word: str, note: str) -> None:
    """Ask for words where the closed list has none: "other" alone says nothing to the next hand."""
    if word == OTHER and not note:
        raise bad(
            "note",
            _("note is empty; {name} is other, so say in the note what it is.").format(name=name),
        )


def _section(value: Any, info: ValidationInfo) -> str:
    """Return a section's name in the one spelling that rules compare: 'left-amplifier'."""
    return "-".join(text.take(str(info.field_name), value, 80).lower().split())


def _amount(value: Any, info: ValidationInfo) -> str:
    """Return money as text, so that no figure is lost on the way through JSON."""
    name = str(info.field_name)
    try:
        amount = typed_numbers.exact(str(value), decimal=preferences.value("decimal_sign"))
    except typed_numbers.TypedWrong as wrong:
        raise bad(name, f"{name}: {said(wrong)}") from None
    places = -int(amount.as_tuple().exponent)
    if isinstance(value, bool) or not 0 <= amount < 10**9 or places > FINEST_PLACES:
        raise bad(
            name,
            _("{name} is {value}; write an amount like 120 or 120.50.").format(
                name=name, value=quoted(value)
            ),
        )
    return f"{amount:f}"


def _day(value: Any, info: ValidationInfo) -> str:
    try:
        return date.fromisoformat(str(value)).isoformat() if value != "" else ""
    except ValueError:
        name = str(info.field_name)
        raise bad(
            name,
            _("{name} is {value}; write a day like 2026-12-24.").format(
                name=name, value=quoted(value)
            ),
        ) from None


Note = Annotated[str, Text(LONGEST_NOTE)]
# Words without which the row would say nothing.
Words = Annotated[str, Text(LONGEST_NOTE, needed=True)]
Name = Annotated[str, Text(LONGEST_NAME, needed=True)]
Spec = Annotated[str, Text(500)]
Section = Annotated[
    str,
    BeforeValidator(_section),
    Field(description="Where in the unit, such as supply or left-amplifier; empty: not said."),
]
Flag = Annotated[bool, Strict(), Wanted("it must be true or false")]
Minutes = Annotated[float, Number(0, 100_000, " of minutes")]
Value = Annotated[float, Number(-1e12, 1e12)]
Unit = Annotated[str, Text(20)]
Pieces = Annotated[
    int, Strict(), Field(ge=1, le=9999), Wanted("it must be a whole number from 1 to 9,999")
]
Amount = Annotated[str, BeforeValidator(_amount), Field(examples=["120.50"])]
Day = Annotated[str, BeforeValidator(_day), Field(examples=["2026-12-24"])]

_Key = Annotated[int, Strict(), Field(gt=0, lt=10**9)]
NeedRow = Annotated[
    _Key,
    Field(description="The sequence of the part_needed row."),
    Wanted("it must be the sequence of a part_needed row"),
]
NeedRows = Annotated[
    list[_Key], Strict(), Wanted("it must be a list of sequences of part_needed rows")
]
PartNumber = Annotated[
    _Key,
    Field(description="The number of a part in the list of parts."),
    Wanted("it must be the number of a part"),
]
OrderNumber = Annotated[_Key, Wanted("it must be the number of an order")]
Version = Annotated[_Key, Wanted("it must be the version of the estimate")]
