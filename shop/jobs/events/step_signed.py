"""A step of the checklist was signed: pass, fail or not applicable, with readings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from shop.jobs.events import stored
from shop.jobs.events.base import Follower
from shop.jobs.events.signoffs import SignOff
from shop.jobs.names import result_name
from shop.lib.pack_words import pack_text, pack_word


class StepSigned(SignOff):
    """A step was signed. `asked` is what the signer said, `result` what the readings make of it."""

    event_type = "step_signed"
    by_hands = True
    followers = frozenset({Follower.READINGS})

    asked: str
    # Each beside the limit that was in force: quantity, value, unit, min, max, source, passed; with
    # an instrument also how far it may be off, the verdict that counts that, and which it was.
    readings: list[dict[str, Any]]
    note: str

    @classmethod
    def measured(cls, data: stored.Data) -> list[stored.Data]:
        """Return the readings."""
        return list(data.get("readings", ()))

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say the step, the result, each reading and the note."""
        parts = [
            f"{pack_text(data['title'])}: {result_name(data['result'])}",
            *map(_reading, cls.measured(data)),
        ]
        return [*parts, *filter(None, [stored.text(data, "note")])]


def _reading(reading: stored.Data) -> str:
    outside = "" if reading["passed"] else " (outside)"
    said = f"{pack_word(reading['quantity'])} {reading['value']:g} {reading['unit']}{outside}"
    return f"{said}{_by(reading)}"


def _by(reading: stored.Data) -> str:
    """Say the instrument, what it may be off by, and what is to be minded."""
    instrument = reading.get("instrument")
    if not isinstance(instrument, Mapping):
        return ""
    off = reading.get("uncertainty")
    parts = [
        stored.text(instrument, "name"),
        f"+-{off:.2g} {reading['unit']}" if isinstance(off, int | float) else "",
        "too close to tell" if reading.get("verdict") == "too-close" else "",
        "calibration past due" if instrument.get("overdue") else "",
    ]
    return f" ({', '.join(filter(None, parts))})"
