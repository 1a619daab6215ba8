"""The readings of the release record: first and last, the limit and its source, the instrument."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from checklists.engine.figures import THIN_SPACE, grouped, shown
from shop.bench.electrical.guard_bands import TOO_CLOSE
from shop.bench.units import spoken
from shop.jobs.comparison import first_and_last
from shop.jobs.events.stored import Data
from shop.jobs.queries import Traveller
from shop.lib.languages import day
from shop.lib.signs import typeset, with_unit

# Sources of limits name facts as the rules do; on paper the name says nothing.
_FACT_NAMED = re.compile(r" \(fact [\w.]+\)|fact [\w.]+, ")


def reading_table(traveller: Traveller) -> dict[str, Any]:
    """Return its rows, the sources that the numbers beside the limits name, and the instruments
    that the letters beside the readings name.
    """
    titles = _titles(traveller)
    sources: dict[str, int] = {}
    instruments: dict[str, str] = {}
    rows = []
    for pair in first_and_last(traveller.record.rows):
        source = _FACT_NAMED.sub("", typeset(str(pair.last.get("source") or "")))
        note = str(sources.setdefault(source, len(sources) + 1)) if source else ""
        rows.append(
            {
                "title": titles.get(pair.quantity, spoken(pair.quantity).capitalize()),
                "first": _amount(pair.first) if pair.first else "",
                "last": _amount(pair.last),
                "limit": range_words(pair.last.get("min"), pair.last.get("max"), pair.last["unit"]),
                "note": note,
                "outside": pair.last.get("passed") is False,
                "doubt": pair.last.get("verdict") == TOO_CLOSE,
                "off": _off(pair.last),
                "with": _letter(pair.last, instruments),
            }
        )
    named = [[letter, words] for words, letter in instruments.items()]
    return {"readings": rows, "sources": list(sources), "instruments": named}


def _off(reading: Data) -> str:
    """Return '± 0.021 Ω'; empty where no instrument is named, or beyond its ranges."""
    off = reading.get("uncertainty")
    if isinstance(off, bool) or not isinstance(off, int | float):
        return ""
    return f"±\u00a0{with_unit(f'{off:.2g}', str(reading.get('unit', '')))}"


def _letter(reading: Data, instruments: dict[str, str]) -> str:
    """Return the letter of the instrument of a reading, the next one for one not seen yet."""
    instrument = reading.get("instrument")
    if not isinstance(instrument, Mapping):
        return ""
    return instruments.setdefault(_instrument(instrument), chr(ord("a") + len(instruments) % 26))


def _instrument(one: Data) -> str:
    """Return an instrument as it was when it read: name, serial number, calibration."""
    serial = _("serial {number}").format(number=one["serial"]) if one.get("serial") else ""
    calibrated, due = (_day(one.get(name)) for name in ("calibrated_on", "due_on"))
    calibration = [
        _("calibrated {day}").format(day=calibrated)
        if calibrated
        else _("calibration not written down"),
        _("next due {day}").format(day=due) if due else "",
        _("past due when it was read") if one.get("overdue") else "",
    ]
    name = ", ".join(filter(None, [str(one.get("name")), one.get("make_model"), serial]))
    return f"{name}; {', '.join(filter(None, calibration))}"


def _day(written: object) -> str:
    try:
        return day(date.fromisoformat(str(written)))
    except ValueError:
        return ""


def range_words(low: float | None, high: float | None, unit: str) -> str:
    """Return '207 to 264 V', 'at most 30 V', 'at least 2 MΩ'; empty where nothing limits."""
    if low is not None and high is not None:
        said = _("{low} to {high}")
        return said.format(low=figure(low), high=with_unit(figure(high), unit))
    if high is not None:
        return _("at most {amount}").format(amount=with_unit(figure(high), unit))
    if low is None:
        return ""
    return _("at least {amount}").format(amount=with_unit(figure(low), unit))


def figure(value: float, digits: int = 3) -> str:
    """Return a number with so many digits, written out."""
    if abs(value) >= 10**digits:
        return grouped(round(value)).replace(THIN_SPACE, "\u00a0")
    return shown(value, digits)


def _amount(reading: Data) -> str:
    """Return a reading with at most the four digits that a meter shows."""
    return with_unit(figure(float(reading["value"]), 4), str(reading.get("unit", "")))


def _titles(traveller: Traveller) -> dict[str, str]:
    """Return what the steps of this unit call their readings."""
    steps = traveller.checklist.steps
    return {one.quantity: typeset(one.title) for step in steps for one in step.readings}
