"""What people may write into a ledger: each kind, its fields, and sentences for bad ones."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from checklists.engine.vocabulary import (
    CONDITIONS,
    FINDINGS,
    VOCABULARY,
    WORK,
    FactError,
    accept_one,
    shown,
)
from shop.lib import text
from shop.lib.refusals import BadInput, bad

LONGEST_NOTE = 20_000
LONGEST_NAME = 200
ANSWERS = ("yes", "no", "question")
# How the owner's word came.
WAYS = ("link", "telephone", "letter", "counter", "within-limit")
LOST_BECAUSE = ("lost", "wrong", "cancelled", "sent-back")

Reader = Callable[[str, object], Any]


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind; `read` returns the value to keep or raises BadInput."""

    read: Reader
    default: Any = None
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of row that people write, the ability it takes, and its fields."""

    ability: str
    fields: dict[str, Field]
    on_closed_job: bool = False


def clean(kind: str, data: object) -> dict[str, Any]:
    """Return the data of a row as it will be kept; BadInput names every field that is wrong."""
    known = KINDS.get(kind) if isinstance(kind, str) else None
    if known is None:
        raise bad("kind", f"kind is {shown(kind)}; it must be one of {', '.join(KINDS)}.")
    if not isinstance(data, Mapping):
        raise bad("data", f"data is {shown(data)}; it must be an object with the fields of {kind}.")
    problems: list[tuple[str, str]] = []
    kept: dict[str, Any] = {}
    for name in data.keys() - known.fields.keys():
        wanted = ", ".join(known.fields) or "no field"
        problems.append((str(name), f"{shown(name)} is not a field of {kind}; it has {wanted}."))
    for name, field in known.fields.items():
        try:
            kept[name] = _read(name, field, data, kind)
        except BadInput as error:
            problems += error.problems
    if kind == "fact_recorded" and not problems:
        kept, problems = _fact(kept)
    if problems:
        raise BadInput(problems)
    return {name: value for name, value in kept.items() if value is not None}


def _read(name: str, field: Field, data: Mapping[str, object], kind: str) -> Any:
    if name not in data or data[name] is None:
        if field.needed:
            raise bad(name, f"{name} is missing; {kind} needs it.")
        return field.default
    return field.read(name, data[name])


def _fact(kept: dict[str, Any]) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    name = kept["name"]
    fact = VOCABULARY.get(name)
    if fact is not None and fact.computed:
        return kept, [(name, f"{name} follows from the record of the job; it is not typed in.")]
    try:
        return {"name": name, "value": accept_one(name, kept["value"])}, []
    except FactError as error:
        return kept, error.problems


def _text(longest: int, *, needed: bool = False) -> Reader:
    return lambda name, value: text.take(name, value, longest, needed=needed)


def _choice(words: tuple[str, ...]) -> Reader:
    def read(name: str, value: object) -> str:
        if not isinstance(value, str) or value not in words:
            raise bad(name, f"{name} is {shown(value)}; it must be one of {', '.join(words)}.")
        return value

    return read


def _choices(words: tuple[str, ...]) -> Reader:
    def read(name: str, value: object) -> list[str]:
        if not isinstance(value, list) or not all(
            isinstance(word, str) and word in words for word in value
        ):
            raise bad(
                name, f"{name} is {shown(value)}; it must be a list out of {', '.join(words)}."
            )
        return list(dict.fromkeys(value))

    return read


def _flag(name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise bad(name, f"{name} is {shown(value)}; it must be true or false.")
    return value


def _number(low: float, high: float, unit: str = "") -> Reader:
    def read(name: str, value: object) -> float:
        wrong = isinstance(value, bool) or not isinstance(value, int | float)
        if wrong or not low <= value <= high or not math.isfinite(value):  # type: ignore[operator,arg-type]
            raise bad(
                name,
                f"{name} is {shown(value)}; it must be a number{unit} from {low:g} to {high:g}.",
            )
        return float(value)  # type: ignore[arg-type]

    return read


def _key(of: str) -> Reader:
    def read(name: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value < 10**9:
            raise bad(name, f"{name} is {shown(value)}; it must be the {of}.")
        return value

    return read


def _keys(of: str) -> Reader:
    one = _key(of)

    def read(name: str, value: object) -> list[int]:
        if not isinstance(value, list):
            raise bad(name, f"{name} is {shown(value)}; it must be a list of {of}.")
        return [one(name, item) for item in value]

    return read


def _amount(name: str, value: object) -> str:
    """Money as text, so that no figure is lost on the way through JSON."""
    try:
        amount = Decimal(str(value).strip().replace(",", ".", 1))
    except InvalidOperation:
        amount = Decimal(-1)
    if isinstance(value, bool) or not amount.is_finite() or not 0 <= amount < 10**9:
        raise bad(name, f"{name} is {shown(value)}; write an amount like 120 or 120.50.")
    return f"{amount:f}"


def _count(name: str, value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 9999:
        raise bad(name, f"{name} is {shown(value)}; it must be a whole number from 1 to 9,999.")
    return value


def _day(name: str, value: object) -> str:
    try:
        return date.fromisoformat(str(value)).isoformat() if value != "" else ""
    except ValueError:
        raise bad(name, f"{name} is {shown(value)}; write a day like 2026-12-24.") from None


def section(name: str, value: object) -> str:
    """Return a section's name in the one spelling that rules compare: 'left-amplifier'."""
    return "-".join(text.take(name, value, 80).lower().split())


def _any(name: str, value: object) -> object:
    return value


_NOTE = Field(_text(LONGEST_NOTE), default="")
_SECTION = Field(section, default="")
_WHICH_PART = {
    "need": Field(_key("sequence of a part_needed row")),
    "spec": Field(_text(500)),
    "note": _NOTE,
}

KINDS: dict[str, Kind] = {
    "fact_recorded": Kind(
        "record", {"name": Field(_text(100), needed=True), "value": Field(_any, needed=True)}
    ),
    "complaint_recorded": Kind(
        "note", {"text": Field(_text(LONGEST_NOTE, needed=True), needed=True)}
    ),
    "finding_recorded": Kind(
        "record",
        {"finding": Field(_choice(FINDINGS), needed=True), "section": _SECTION, "note": _NOTE},
    ),
    "trial_run": Kind(
        "record",
        {
            "conditions": Field(_choices(CONDITIONS), default=[]),
            "off_minutes": Field(_number(0, 100_000, " of minutes")),
            "on_minutes": Field(_number(0, 100_000, " of minutes")),
            "fault": Field(_flag, needed=True),
            "note": _NOTE,
        },
    ),
    "suspect_changed": Kind(
        "record",
        {
            "suspect": Field(_text(LONGEST_NAME, needed=True), needed=True),
            "change": Field(_choice(("raised", "ruled-out", "confirmed")), default="raised"),
            "section": _SECTION,
            "evidence": Field(_text(LONGEST_NOTE), default=""),
        },
    ),
    "work_done": Kind(
        "record",
        {
            "work": Field(_choice(WORK), needed=True),
            "section": _SECTION,
            "minutes": Field(_number(0, 100_000, " of minutes"), default=0),
            "note": _NOTE,
        },
    ),
    "part_needed": Kind(
        "record",
        {
            "spec": Field(_text(500, needed=True), needed=True),
            "required": Field(_flag, default=True),
            "quantity": Field(_count, default=1),
            "part": Field(_key("number of a part")),
            "note": _NOTE,
        },
    ),
    "part_specified": Kind(
        "note",
        {
            **_WHICH_PART,
            "new_spec": Field(_text(500)),
            "quantity": Field(_count),
            "part": Field(_key("number of a part")),
        },
    ),
    "part_ordered": Kind("note", {**_WHICH_PART, "order": Field(_key("number of an order"))}),
    "part_arrived": Kind(
        "note",
        {
            **_WHICH_PART,
            "quantity": Field(_count),
            "from_stock": Field(_flag),
            "bin": Field(_text(60)),
        },
    ),
    "part_lost": Kind(
        "note",
        {**_WHICH_PART, "why": Field(_choice(LOST_BECAUSE), needed=True)},
    ),
    "promise_made": Kind("note", {"on": Field(_day, needed=True), "note": _NOTE}),
    "part_fitted": Kind("record", {**_WHICH_PART, "section": _SECTION}),
    "reading_taken": Kind(
        "record",
        {
            "quantity": Field(_text(LONGEST_NAME, needed=True), needed=True),
            "value": Field(_number(-1e12, 1e12), needed=True),
            "unit": Field(_text(20), default=""),
            "source": Field(_text(300), default=""),
            "note": _NOTE,
        },
    ),
    "soak_started": Kind("record", {"note": _NOTE}),
    "soak_reading": Kind(
        "record",
        {
            "quantity": Field(_text(LONGEST_NAME, needed=True), needed=True),
            "value": Field(_number(-1e12, 1e12), needed=True),
            "unit": Field(_text(20), default=""),
            "note": _NOTE,
        },
    ),
    "soak_ended": Kind(
        "record", {"result": Field(_choice(("pass", "fail")), default="pass"), "note": _NOTE}
    ),
    "limit_agreed": Kind("note", {"amount": Field(_amount, needed=True), "note": _NOTE}),
    "estimate_sent": Kind(
        "note",
        {
            "note": _NOTE,
            "version": Field(_key("version of the estimate")),
            "total": Field(_amount),
            # What it covers; without them it covers all.
            "needs": Field(_keys("sequences of part_needed rows")),
            "work": Field(_choices(WORK)),
        },
    ),
    "estimate_answered": Kind(
        "note",
        {
            "answer": Field(_choice(ANSWERS), needed=True),
            "version": Field(_key("version of the estimate")),
            "way": Field(_choice(WAYS)),
            "note": _NOTE,
        },
    ),
    "question_replied": Kind(
        "note", {"text": Field(_text(LONGEST_NOTE, needed=True), needed=True)}, on_closed_job=True
    ),
    "shipped": Kind(
        "note",
        {
            "carrier": Field(_text(LONGEST_NAME), default=""),
            "tracking": Field(_text(LONGEST_NAME), default=""),
            "note": _NOTE,
        },
        on_closed_job=True,
    ),
    "note_added": Kind(
        "note",
        {"text": Field(_text(LONGEST_NOTE, needed=True), needed=True)},
        on_closed_job=True,
    ),
}
