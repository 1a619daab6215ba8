"""Numbers as people type them: `1 200`, `4k7`, `0R22`, `100u`, `22 mV`, `+-68`.

One parser for forms, cells, the API and the shell. What reads two ways is never guessed.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from checklists.engine.quoting import quoted

LONGEST = 40
DECIMAL_SIGNS = (".", ",")

_PREFIXES = {
    "": 0, "p": -12, "n": -9, "u": -6, "m": -3, "k": 3, "K": 3, "M": 6, "G": 9,
}  # fmt: skip
# How people write each unit; the first is what the project writes.
_UNITS = {
    "V": ("V", "v", "volt", "volts"),
    "A": ("A", "amp", "amps"),
    "W": ("W", "w", "watt", "watts"),
    "ohm": ("ohm", "ohms", "Ohm", "Ohms", "R", "\u03a9"),
    "F": ("F",),
    "H": ("H",),
    "Hz": ("Hz", "hz", "HZ"),
    "J": ("J",),
    "g": ("g",),
    "m": ("m",),
    "s": ("s", "sec"),
    "C": ("C", "\u00b0C", "\u00b0"),
    "K": ("K",),
    "%": ("%",),
    "dB": ("dB", "db"),
    "h": ("h", "hours", "hour"),
    "min": ("min", "minutes"),
}
# A bare prefix stands for the unit that is asked: 100u of a capacitor.
_BARE = frozenset({"V", "A", "W", "ohm", "F", "H", "Hz"})
# IEC 60062: the letter takes the place of the decimal sign.
_LETTERS = {"R": ("ohm", 0), "V": ("V", 0), **{p: ("", e) for p, e in _PREFIXES.items() if p}}
_RKM = re.compile(r"(\d+)([RVpnumkKMG])(\d+)(.*)", re.DOTALL)
_PLAIN = re.compile(
    r"((?:\d|[., '](?=\d)|(?<=\d)[.,](?!\d))+|[.,]\d+)((?:[eE][+-]?\d{1,3})?)(.*)", re.DOTALL
)
_GROUPED = re.compile(r"\d{1,3}(?:([., '])\d{3})(?:\1\d{3})*")
_ONE_GROUP = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_SPACED_GROUPS = re.compile(r"\d{1,3}(?: \d{3})+")
_BEGINS = re.compile(r"[-+\u2212\u00b1.,]?/?-?\d")
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2009\u202f\u2007"), " ") | {ord("\u2019"): "'"}
_SIGNS = {
    ord("\u066b"): ",",
    ord("\u066c"): "'",
    ord("\u2212"): "-",
    ord("\u00b5"): "u",
    ord("\u03bc"): "u",
    ord("\u2126"): "\u03a9",
}


def gettext_noop(words: str) -> str:
    """Mark words for the catalogues. Sums read typed numbers too, and know no Django."""
    return words


class TypedWrong(ValueError):
    """A number that cannot be taken; the sentence says why, and what would be right.

    Pages say it in their language: `phrases.said`.
    """

    def __init__(self, words: str, **values: object) -> None:
        super().__init__(words.format(**values))
        self.words, self.values = words, values


@dataclass(frozen=True, slots=True)
class _Asked:
    prefix: int
    base: str


def number(typed: str, *, unit: str = "", decimal: str = "") -> float:
    """Return what was typed as a number of the unit asked; as `exact`."""
    return float(exact(typed, unit=unit, decimal=decimal))


def exact(typed: str, *, unit: str = "", decimal: str = "") -> Decimal:
    """Return what was typed as an exact number of the unit asked.

    unit: as the pack writes it, such as "mV", "Mohm", "uF", "trials"; one that stands with the
    number is converted, and refused when it measures something else. decimal: the decimal sign
    of the shop, "." or ","; "" when nobody has said. TypedWrong when it is no number, when it
    reads two ways, or when the unit is another one.
    """
    text = _clean(typed)
    sign, text = _sign(text)
    figure, exponent, rest = _letter_code(text, unit) or _plain(text, typed, decimal)
    factor = _factor(rest.strip(), unit, typed)
    value = figure.scaleb(exponent + factor) * sign
    if not math.isfinite(float(value)):
        raise TypedWrong(gettext_noop("{typed} is too large a number."), typed=quoted(typed))
    return value


def several(typed: str, *, unit: str = "", decimal: str = "") -> list[float]:
    """Return the values of one field, parted by blanks or semicolons; as `number`, one by one.

    `1 200` alone may be one value or two, and is asked back; with a semicolon it is one.
    """
    if ";" in typed:
        return [
            number(part, unit=unit, decimal=decimal) for part in typed.split(";") if part.strip()
        ]
    parts = _parts(typed)
    if len(parts) > 1 and _SPACED_GROUPS.fullmatch(typed.strip()):
        joined, listed = "".join(parts), " and ".join(parts)
        raise TypedWrong(
            gettext_noop(
                "{typed} reads two ways: {joined}, or {listed}. Part values with a semicolon."
            ),
            typed=quoted(typed),
            joined=joined,
            listed=listed,
        )
    return [number(part, unit=unit, decimal=decimal) for part in parts]


def factor_of(unit: str) -> float:
    """Return what a number of this unit is multiplied by for the unit without a prefix: 0.001 of mV."""
    return float(10.0 ** _asked(unit).prefix)


def _parts(typed: str) -> list[str]:
    """Part at blanks; a word that begins with no figure belongs to the value before it."""
    parts: list[str] = []
    for word in typed.split():
        if parts and not _BEGINS.match(word):
            parts[-1] += f" {word}"
        else:
            parts.append(word)
    return parts


def _clean(typed: str) -> str:
    if len(typed) > LONGEST:
        raise TypedWrong(
            gettext_noop("{typed} is longer than {most} characters."),
            typed=quoted(typed),
            most=LONGEST,
        )
    text = unicodedata.normalize("NFC", typed).translate(_SIGNS | _SPACES).strip()
    return "".join(_digit(sign) for sign in text)


def _digit(sign: str) -> str:
    """Digits of other scripts are digits."""
    return str(unicodedata.decimal(sign)) if sign.isdecimal() else sign


def _sign(text: str) -> tuple[int, str]:
    """`+-68` and `\u00b168` are a magnitude."""
    for mark, sign in (("+-", 1), ("+/-", 1), ("\u00b1", 1), ("-", -1), ("+", 1)):
        if text.startswith(mark):
            return sign, text.removeprefix(mark).lstrip()
    return 1, text


def _letter_code(text: str, unit: str) -> tuple[Decimal, int, str] | None:
    """4k7, 0R22, 2n2, 5V1: the letter stands where the decimal sign would."""
    match = _RKM.fullmatch(text)
    if match is None:
        return None
    whole, letter, part, rest = match.groups()
    base, exponent = _LETTERS[letter]
    if base and base != _asked(unit).base:
        return None
    _require_same_case(exponent, unit, text)
    # The prefix is taken off again by the unit: both count from the base unit.
    return Decimal(f"{whole}.{part}"), exponent - _asked(unit).prefix, _only_unit(rest, unit)


def _only_unit(rest: str, unit: str) -> str:
    """After a letter only the base unit may follow; it is told by the unit that is asked."""
    word = rest.strip()
    if word not in ("", *_UNITS.get(_asked(unit).base, ())):
        raise TypedWrong(
            gettext_noop("{word} cannot follow such a number; type it like 4k7 or 4700."),
            word=quoted(word),
        )
    return unit


def _plain(text: str, typed: str, decimal: str) -> tuple[Decimal, int, str]:
    match = _PLAIN.fullmatch(text)
    if match is None:
        raise TypedWrong(
            gettext_noop("{typed} is no number. Type it like 1200, 0.47, 4k7 or 22 mV."),
            typed=quoted(typed),
        )
    figures, power, rest = match.groups()
    try:
        return Decimal(_without_groups(figures, typed, "." if power else decimal) + power), 0, rest
    except InvalidOperation:
        raise TypedWrong(
            gettext_noop("{typed} is no number. Type it like 1200 or 0.47."), typed=quoted(typed)
        ) from None


def _without_groups(figures: str, typed: str, decimal: str) -> str:
    """Return the figures with a point alone, or raise when they read two ways."""
    if _ONE_GROUP.fullmatch(figures) and not (decimal and decimal in figures):
        grouped, parted = re.sub(r"[.,]", "", figures), figures.replace(",", ".")
        one, other = grouped, parted.rstrip("0").rstrip(".")
        raise TypedWrong(
            gettext_noop("{typed} reads two ways: {one} or {other}. Type the one you mean."),
            typed=quoted(typed),
            one=one,
            other=other,
        )
    used = [sign for sign in " '.," if sign in figures]
    last = max(used, key=figures.rfind, default="")
    if last in DECIMAL_SIGNS and figures.count(last) == 1:
        whole, _, part = figures.rpartition(last)
        return f"{_whole(whole, typed)}.{part}"
    return _whole(figures, typed)


def _whole(figures: str, typed: str) -> str:
    """Groups are of three digits and parted by one sign, or they are no groups."""
    if figures.isdecimal() or not figures:
        return figures
    if not _GROUPED.fullmatch(figures):
        raise TypedWrong(
            gettext_noop(
                "{typed} is no number: groups have three digits. Type it like 1200 or 1 200.5."
            ),
            typed=quoted(typed),
        )
    return re.sub(r"\D", "", figures)


def _factor(word: str, unit: str, typed: str) -> int:
    """Return the power of ten between the unit that was typed and the one asked."""
    asked = _asked(unit)
    if word in ("", unit):
        return 0
    prefix = _prefix_of(word, asked.base)
    if prefix is None:
        words = (
            gettext_noop("{typed} is in {word}; it must be a number of {unit}.")
            if unit
            else gettext_noop("{typed} is in {word}; it must be a number without a unit.")
        )
        raise TypedWrong(words, typed=quoted(typed), word=quoted(word), unit=unit)
    _require_same_case(prefix, unit, typed)
    return prefix - asked.prefix


def _require_same_case(prefix: int, unit: str, typed: str) -> None:
    """Raise for m where M is asked and the other way round: nobody means a thousand million times."""
    if {prefix, _asked(unit).prefix} == {_PREFIXES["m"], _PREFIXES["M"]}:
        words = gettext_noop("{typed}: m is milli, M is mega, and {unit} is asked. Type it so.")
        raise TypedWrong(words, typed=quoted(typed), unit=unit)


def _prefix_of(word: str, base: str) -> int | None:
    names = _UNITS.get(base, ())
    if word in names:
        return 0
    if word in _PREFIXES and base in _BARE:
        return _PREFIXES[word]
    for name in names:
        prefix = word.removesuffix(name).strip()
        if word.endswith(name) and prefix in _PREFIXES:
            return _PREFIXES[prefix]
    return None


def _asked(unit: str) -> _Asked:
    for base in _UNITS:
        prefix = unit.removesuffix(base)
        if unit.endswith(base) and prefix in _PREFIXES:
            return _Asked(_PREFIXES[prefix], base)
    return _Asked(0, unit)
