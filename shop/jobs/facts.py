"""Facts as people type them into a form or a spreadsheet cell."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from checklists.engine.vocabulary import VOCABULARY, Fact
from checklists.engine.wording import label as label
from shop.lib import typed_numbers
from shop.lib.pack_words import pack_text
from shop.lib.phrases import said
from shop.lib.refusals import BadInput
from shop.preferences import current as preferences

TYPED = tuple(fact for fact in VOCABULARY.values() if not fact.computed)

_LONGEST_WHOLE = 9
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}


def shown_label(fact: Fact) -> str:
    """Return what a page calls the fact, in its language; `label` is kept and sent."""
    return pack_text(label(fact))


def from_text(cells: Mapping[str, str]) -> dict[str, Any]:
    """Turn typed cells into values; what makes no sense stays text for the vocabulary to name."""
    return {name: value_from_text(name, cell) for name, cell in cells.items() if cell.strip()}


def value_from_text(name: str, cell: str) -> Any:
    """Turn one typed cell into the type that the fact wants, or leave it as text.

    "yes" and "no" are flags, words of a list are parted by blanks or commas, numbers are read by
    the shop's parser: BadInput where one reads two ways or is of another unit.
    """
    fact = VOCABULARY.get(name)
    typed = cell.strip()
    if fact is None or fact.kind == "string":
        return typed
    if fact.kind == "list":
        return [word for word in typed.replace(",", " ").split() if word]
    if fact.kind == "bool":
        return _FLAGS.get(typed.lower(), typed)
    return _number(fact, typed)


def _number(fact: Fact, typed: str) -> Any:
    # Whole numbers are years and counts: nobody groups them.
    if fact.kind == "int":
        return int(typed) if typed.isdecimal() and len(typed) <= _LONGEST_WHOLE else typed
    try:
        return typed_numbers.number(
            typed, unit=fact.unit, decimal=preferences.value("decimal_sign")
        )
    except typed_numbers.TypedWrong as wrong:
        raise BadInput([(fact.name, f"{label(fact)}: {said(wrong)}")]) from None
