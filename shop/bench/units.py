"""Units, read off the names of inputs and results: the last word of a name is its unit."""

from __future__ import annotations

# The longest ending counts: `celsius_per_watt` is K/W, not W.
_ENDINGS = {
    "kelvin_per_watt": "K/W",
    "milliohms": "mohm",
    "kilohms": "kohm",
    "megohms": "Mohm",
    "ohms": "ohm",
    "kilovolts": "kV",
    "millivolts": "mV",
    "volts": "V",
    "milliamps": "mA",
    "amps": "A",
    "watts": "W",
    "joules": "J",
    "_j": "J",
    "microcoulombs": "uC",
    "picofarads": "pF",
    "nanofarads": "nF",
    "microfarads": "uF",
    "hertz": "Hz",
    "milliseconds": "ms",
    "seconds": "s",
    "_s": "s",
    "minutes": "min",
    "hours": "h",
    "days": "d",
    "months": "months",
    "years": "years",
    "metres": "m",
    "millimetres": "mm",
    "kilograms": "kg",
    "celsius": "C",
    "kelvin": "K",
    "percent": "%",
    "decibels": "dB",
    "per_day": "per day",
}
_BY_LENGTH = sorted(_ENDINGS, key=len, reverse=True)


def unit_of(name: str) -> str:
    """Return the unit that a name ends with, or an empty text."""
    for ending in _BY_LENGTH:
        if name == ending or name.endswith(ending if ending[0] == "_" else "_" + ending):
            return _ENDINGS[ending]
    return ""


def spoken(name: str) -> str:
    """Return a name as words, its unit taken off the end where something is left."""
    for ending in _BY_LENGTH:
        bare = name.removesuffix(ending).rstrip("_")
        if bare != name and bare and unit_of(name):
            return bare.replace("_", " ")
    return name.replace("_", " ")
