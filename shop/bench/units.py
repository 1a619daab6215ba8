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
    "square_millimetres": "mm2",
    "millimetres": "mm",
    "kilograms": "kg",
    "celsius": "C",
    "kelvin": "K",
    "percent": "%",
    "decibels": "dB",
    "per_day": "per day",
}
_BY_LENGTH = sorted(_ENDINGS, key=len, reverse=True)


# What a name is about when it is nothing but its unit, or ends with it.
_QUANTITIES = {
    "V": "voltage", "mV": "voltage", "A": "current", "mA": "current", "ohm": "resistance",
    "mohm": "resistance", "Mohm": "resistance", "W": "power", "J": "energy", "uF": "capacitance",
    "nF": "capacitance", "Hz": "frequency", "s": "time", "min": "time", "C": "temperature",
    "dB": "level", "K/W": "thermal resistance", "m": "length", "kg": "mass", "uC": "charge",
}  # fmt: skip


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
        if bare == name or not unit_of(name):
            continue
        words = bare.replace("_", " ")
        # "volts" alone is a voltage; "emitter ohms" is the emitter's resistance.
        whose = words in ("", "emitter", "load", "source", "coil", "rail", "mains", "plate", "lamp")
        quantity = _QUANTITIES.get(unit_of(name), ending)
        return f"{words} {quantity}".strip() if whose else words
    return name.replace("_", " ")
