"""Markings of parts: colour bands, letter and digit codes, dates."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from checklists.engine.quoting import quoted
from shop.bench.electrical.preferred_values import E24, E96, E192

_COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
_DIGITS = {colour: digit for digit, colour in enumerate(_COLOURS)}
_POWERS = _DIGITS | {"gold": -1, "silver": -2, "pink": -3}
_TOLERANCE_PERCENT = {
    "brown": 1.0, "red": 2.0, "orange": 0.05, "yellow": 0.02, "green": 0.5, "blue": 0.25,
    "violet": 0.1, "grey": 0.01, "gold": 5.0, "silver": 10.0,
}  # fmt: skip
_PER_KELVIN = {
    "black": 250.0, "brown": 100.0, "red": 50.0, "orange": 15.0, "yellow": 25.0, "green": 20.0,
    "blue": 10.0, "violet": 5.0, "grey": 1.0,
}  # fmt: skip
_SAME = {"gray": "grey", "purple": "violet"}
_LETTER_PERCENT = {
    "L": 0.01, "P": 0.02, "W": 0.05, "B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0, "H": 3.0,
    "J": 5.0, "K": 10.0, "M": 20.0, "N": 30.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistorMarking:
    """What a marking says of a resistor."""

    ohms: float
    tolerance_percent: float | None
    lowest_ohms: float | None
    highest_ohms: float | None
    coefficient_parts_per_million_per_kelvin: float | None
    says: str


def colour_code(bands: Sequence[str]) -> ResistorMarking:
    """Return what 3 to 6 colour bands say, from the end they are nearest to.

    bands: black, brown, red, orange, yellow, green, blue, violet, grey, white, gold, silver, pink;
    `says` warns when the value is none of E24 (of E24 and E192 with three digits).
    Formula: two or three digits, power of ten, tolerance, temperature coefficient.
    Caution: NOTICE. Heat turns red brown and orange red: a burnt resistor is read from the drawing, not from its bands.
    Source: IEC 60062, from memory.
    """
    if isinstance(bands, str) or not 3 <= len(bands) <= 6:
        raise ValueError(f"bands has {len(bands)} values; it takes 3 to 6 colours.")
    names = [_SAME.get(band.strip().lower(), band.strip().lower()) for band in bands]
    count = 2 if len(names) < 5 else 3
    digits = [_colour(name, _DIGITS, place) for place, name in enumerate(names[:count], 1)]
    power = int(_colour(names[count], _POWERS, count + 1))
    if not digits[0]:
        raise ValueError("bands begins with black; a value does not: read from the other end.")
    tolerance = 20.0
    if len(names) > count + 1:
        tolerance = _colour(names[count + 1], _TOLERANCE_PERCENT, count + 2)
    coefficient = _colour(names[5], _PER_KELVIN, 6) if len(names) == 6 else None
    figure = int("".join(str(int(digit)) for digit in digits))
    return _resistor(_scaled(figure, power), tolerance, coefficient, _doubt(figure, count))


def _colour(name: str, meanings: dict[str, float] | dict[str, int], place: int) -> float:
    if name not in meanings:
        wanted = ", ".join(meanings)
        raise ValueError(f"bands {place} is {quoted(name)}; it must be one of {wanted}.")
    return meanings[name]


def _scaled(figure: float, power: int) -> float:
    """Return figure x 10^power, divided where that gives the float that people type."""
    return float(figure * 10**power if power >= 0 else figure / 10**-power)


def _doubt(figure: int, digits: int) -> str:
    known = {round(step * 10) for step in E24}
    if digits == 3:
        known = {round(step * 100) for step in (*E24, *E192)}
    if figure in known:
        return "A preferred value."
    return "No preferred value: read it from the other end, and measure it."


def _resistor(
    ohms: float, tolerance: float | None, coefficient: float | None, says: str
) -> ResistorMarking:
    share = None if tolerance is None else tolerance / 100
    return ResistorMarking(
        ohms=ohms,
        tolerance_percent=tolerance,
        lowest_ohms=None if share is None else ohms * (1 - share),
        highest_ohms=None if share is None else ohms * (1 + share),
        coefficient_parts_per_million_per_kelvin=coefficient,
        says=says,
    )


_PLACES = {"R": 0, "E": 0, "K": 3, "M": 6, "G": 9, "T": 12, "L": -3}
_RKM = re.compile(r"(\d*)([REKMGTL])(\d*)([BCDFGHJKMN]?)")
_BY_DIGITS = re.compile(r"(\d{2,3})(\d)([FJ]?)")
_E96_LETTERS = {
    "Z": -3, "Y": -2, "X": -1, "S": -1, "A": 0, "B": 1, "H": 1, "C": 2, "D": 3, "E": 4, "F": 5,
}  # fmt: skip


def resistor_code(code: str) -> ResistorMarking:
    """Return what letters and digits on a resistor say: 4k7, R22, 103, 4702, 68C.

    Letter for the decimal point (R or E ohm, K, M, G, L thousandth) with a tolerance letter after it;
    two or three digits and a power of ten; two digits of E96 and a letter. Case does not count.
    Formula: letter and digit code; digits x 10^last; E96[nn] x 10^letter.
    Caution: NOTICE. 220 is 22 ohm on a chip and 220 ohm on some old wire-wounds: measure it.
    Source: IEC 60062, examples read; E96 letter code, table read; L from memory.
    """
    text = "".join(code.split()).upper().replace("Ω", "R")
    if text and not text.strip("0"):
        return _resistor(0.0, None, None, "A link of zero ohm.")
    if found := re.fullmatch(r"(\d\d)([ZYXSABHCDEF])", text):
        place = int(found[1])
        if 1 <= place <= 96:
            figure = round(E96[place - 1] * 100)
            return _resistor(_scaled(figure, _E96_LETTERS[found[2]]), 1.0, None, "E96 code.")
    # 470K is 470 kohm and never 47 ohm at 10 %, so the letter for the point is asked first.
    if (found := _RKM.fullmatch(text)) and (found[1] or found[3]):
        ohms = _pointed(found[1], found[3], _PLACES[found[2]])
        return _resistor(ohms, _LETTER_PERCENT.get(found[4]), None, "Letter for the point.")
    if found := _BY_DIGITS.fullmatch(text):
        ohms = _scaled(int(found[1]), int(found[2]))
        return _resistor(ohms, _LETTER_PERCENT.get(found[3]), None, "Digits and a power of ten.")
    raise ValueError(f"code is {quoted(code)}; it must be such as 4k7, R22, 103, 4702 or 68C.")


def _pointed(before: str, after: str, power: int) -> float:
    """Return the number with its point where the letter stood, x 10^power."""
    return _scaled(int((before + after) or "0"), power - len(after))


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitorMarking:
    """What a marking says of a capacitor."""

    picofarads: float
    nanofarads: float
    microfarads: float
    lowest_picofarads: float | None
    highest_picofarads: float | None
    says: str


_FARAD_PLACES = {"P": 0, "N": 3, "U": 6, "M": 9}
_ABSOLUTE_PICOFARADS = {"B": 0.1, "C": 0.25, "D": 0.5}
_LOPSIDED_PERCENT = {"Z": (20.0, 80.0), "S": (20.0, 50.0), "Q": (10.0, 30.0), "T": (10.0, 50.0)}
_CAPACITOR_LETTER = re.compile(r"(\d*)([PNUM])(\d*)([BCDFGHJKMNQSTZ]?)")
# 100n is 100 nF; N as a tolerance is not taken after three digits.
_CAPACITOR_DIGITS = re.compile(r"(\d{2})(\d)([BCDFGHJKMQSTZ]?)")


def capacitor_code(code: str) -> CapacitorMarking:
    """Return what letters and digits on a film or ceramic capacitor say: 104K, 4n7, u22, 479.

    Two digits and a power of ten in pF (8 is a hundredth, 9 a tenth); or a letter for the point: p,
    n, u (or the Greek letter), m. A tolerance letter may follow: B, C, D in pF below 10 pF, else per cent.
    Formula: digits x 10^last pF; letter and digit code.
    Caution: DANGER. On the mains side the code is not enough: X or Y class and its marks decide.
    Source: IEC 60062, examples read; 8, 9 and the letters from memory.
    """
    # Both signs for micro, the one of the keyboard and the Greek letter.
    text = "".join(code.split()).replace("\u00b5", "u").replace("\u03bc", "u").upper()
    if found := _CAPACITOR_DIGITS.fullmatch(text):
        power = int(found[2])
        value = _scaled(int(found[1]), power - 10 if power >= 8 else power)
        return _capacitor(value, found[3], "Digits and a power of ten, in pF.")
    if (found := _CAPACITOR_LETTER.fullmatch(text)) and (found[1] or found[3]):
        value = _pointed(found[1], found[3], _FARAD_PLACES[found[2]])
        return _capacitor(value, found[4], "Letter for the point.")
    raise ValueError(f"code is {quoted(code)}; it must be such as 104K, 4n7, u22 or 479.")


def _capacitor(value: float, letter: str, says: str) -> CapacitorMarking:
    lowest, highest = _band(value, letter)
    return CapacitorMarking(
        picofarads=value,
        nanofarads=value / 1e3,
        microfarads=value / 1e6,
        lowest_picofarads=lowest,
        highest_picofarads=highest,
        says=says,
    )


def _band(value: float, letter: str) -> tuple[float | None, float | None]:
    if not letter:
        return None, None
    if value < 10 and letter in _ABSOLUTE_PICOFARADS:
        apart = _ABSOLUTE_PICOFARADS[letter]
        return value - apart, value + apart
    usual = _LETTER_PERCENT.get(letter, 0.0)
    below, above = _LOPSIDED_PERCENT.get(letter, (usual, usual))
    return value * (1 - below / 100), value * (1 + above / 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class DateCode:
    """The years that a date code may mean, and the month or the week."""

    made_in: tuple[int, ...]
    month: str
    week: int | None
    says: str


_YEAR_LETTERS = "ABCDEFHJKLMNPRSTUVWX"  # from 1990 on, again every twenty years
_MONTHS = {letter: place for place, letter in enumerate("123456789OND", 1)}
_MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def _so_far(years: Iterable[int]) -> tuple[int, ...]:
    return tuple(year for year in years if year <= datetime.now(tz=UTC).year)


def date_code(code: str) -> DateCode:
    """Return when a part may have been made: letter and month as in M5, or year and week as in 8523.

    Two characters: year letter A to X, which comes again after twenty years, and month 1 to 9, O, N,
    D. Four digits: last two of the year and week 01 to 53. Years to come are left out.
    Formula: year letters A = 1970, 1990, 2010; four digits YYWW.
    Caution: NOTICE. A part that is younger than the unit was fitted later: by whom, and was it the right one?
    Source: date code of IEC 60062, from memory; year and week: common practice of makers.
    """
    text = "".join(code.split()).upper()
    if found := re.fullmatch(rf"([{_YEAR_LETTERS}])([1-9OND])", text):
        place = _YEAR_LETTERS.index(found[1])
        years = _so_far(start + place for start in (1970, 1990, 2010))
        month = _MONTH_NAMES[_MONTHS[found[2]] - 1]
        last = " or ".join([", ".join(map(str, years[:-1])), str(years[-1])])
        return DateCode(made_in=years, month=month, week=None, says=f"{month} {last}.")
    if found := re.fullmatch(r"([0-9]{2})([0-9]{2})", text):
        short, week = int(found[1]), int(found[2])
        if 1 <= week <= 53:
            year = _so_far((1900 + short, 2000 + short))[-1]
            return DateCode(made_in=(year,), month="", week=week, says=f"Week {week} of {year}.")
    raise ValueError(f"code is {quoted(code)}; it must be such as M5 or 8523.")
