"""What an instrument answers, as a number of the unit without a prefix; or why it is none.

SCPI-99, volume 1, 7.2.1: 9.9E37 stands for infinity (overload), 9.91E37 for not a number. Answers
are plain numbers; an instrument that adds a unit is held to it.
"""

from __future__ import annotations

import re

from checklists.engine.quoting import quoted

INFINITY, NOT_A_NUMBER = 9.9e37, 9.91e37
_NUMBER = re.compile(
    r"([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*,?\s*(.*)", re.DOTALL | re.ASCII
)
_OVERLOAD = re.compile(r"[+-]?\s*(OL|O\.L|0L|OVLD|OVERLOAD|OVER|OFL|INF|INFINITY|NINF)\b.*", re.I)
_PREFIXES = {"": 0, "N": -9, "U": -6, "\u00b5": -6, "M": -3, "K": 3}
# How instruments spell a unit; all in capitals, as SCPI does not tell small from large.
_SPELLED = {
    "V": ("V", "VDC", "VAC", "VOLT", "VOLTS", "V DC", "V AC"),
    "A": ("A", "ADC", "AAC", "AMP", "AMPS", "A DC", "A AC"),
    "ohm": ("OHM", "OHMS", "\u03a9", "\u2126"),
    "C": ("C", "CEL", "\u00b0C", "DEGC"),
    "Hz": ("HZ",),
    "W": ("W", "WATT", "WATTS"),
}
# By SCPI-99 MOHM is megohm and MHZ megahertz; a milliohm is not written so.
_MEGA = frozenset({"ohm", "Hz"})


class WrongAnswer(ValueError):
    """An answer that gives no reading; the message is a sentence. `word` says which sort it is."""

    def __init__(self, word: str, sentence: str) -> None:
        self.word = word
        super().__init__(sentence)


def read(answer: str, unit: str) -> float:
    """Return an answer in `unit`, a unit of MEASURED without a prefix.

    WrongAnswer: "overload", "unit" for another unit than that, "nonsense" for what is no number.
    """
    text = answer.strip()
    if _OVERLOAD.fullmatch(text):
        raise _overload()
    match = _NUMBER.fullmatch(text)
    if match is None or len(text) > 60:
        raise WrongAnswer("nonsense", f"It answered {quoted(text[:60])}, which is no number.")
    value = float(match[1])
    if abs(value) >= NOT_A_NUMBER:
        raise WrongAnswer("nonsense", "It answered that it has no number (9.91E37).")
    if abs(value) >= INFINITY:
        raise _overload()
    return value * _factor(match[2].strip(), unit, text)


def _overload() -> WrongAnswer:
    return WrongAnswer(
        "overload", "It shows overload: nothing is connected, or it is out of range."
    )


def _factor(suffix: str, unit: str, text: str) -> float:
    word = " ".join(suffix.upper().split())
    if not word:
        return 1.0
    for spelled in sorted(_SPELLED[unit], key=len, reverse=True):
        prefix = word.removesuffix(spelled).strip()
        if word.endswith(spelled) and (power := _power(prefix, unit)) is not None:
            return float(10.0**power)
    raise WrongAnswer("unit", f"It answered {quoted(text)}; a number of {unit} was asked for.")


def _power(prefix: str, unit: str) -> int | None:
    if unit == "C":
        return 0 if not prefix else None
    return 6 if prefix in ("M", "MA") and unit in _MEGA else _PREFIXES.get(prefix)
