"""Signs of units and figures for people: Ω for ohm, µF for uF, °C for C, ± for +-, × for x.

The record keeps plain letters, which every keyboard types; pages and papers may show the signs.
"""

from __future__ import annotations

import re

# Does not break at the end of a line.
_SPACE = "\u00a0"
_SIGNS = {
    "ohm": "Ω",
    "mohm": "mΩ",
    "kohm": "kΩ",
    "Mohm": "MΩ",
    "uF": "µF",
    "uC": "µC",
    "uV": "µV",
    "uA": "µA",
    "us": "µs",
    "mm2": "mm²",
}
# Only where a figure stands before it: a letter C by itself may be a name.
_AFTER_FIGURE = re.compile(rf"(?<=\d) ?({'|'.join(sorted(_SIGNS, key=len, reverse=True))})\b")
_DEGREES = re.compile(r"(?<=\d) ?C\b(?! cell)")
_BETWEEN = re.compile(r"(?<=\d) x (?=\d)")


def unit_sign(unit: str) -> str:
    """Return the sign of a unit: 'Ω' for 'ohm', '°C' for 'C'; others as they are."""
    return "°C" if unit == "C" else _SIGNS.get(unit, unit)


def with_unit(figure: str, unit: str) -> str:
    """Return '4 MΩ': a figure and the sign of its unit, kept on one line."""
    return f"{figure}{_SPACE}{unit_sign(unit)}" if unit else figure


def typeset(text: str) -> str:
    """Return a sentence of the shop with signs for the units that follow a figure."""
    signed = _AFTER_FIGURE.sub(lambda unit: _SPACE + _SIGNS[unit[1]], text)
    signed = _DEGREES.sub(f"{_SPACE}°C", signed)
    signed = _BETWEEN.sub(" × ", signed)
    return signed.replace("+/-", "±").replace("+-", "±")
