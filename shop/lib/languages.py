"""Days, sums and numbers as people of the language in force write them.

Forms are those of Unicode CLDR, as babel has them. English keeps the forms of the shop's own
pages, which no country reads another way: 3 March 2031, and sums grouped by a thin space.
"""

from __future__ import annotations

import struct
from contextlib import AbstractContextManager, nullcontext
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from pathlib import Path

from babel import Locale
from babel.dates import format_date, format_skeleton
from babel.numbers import format_decimal
from django.conf import settings
from django.utils import timezone, translation
from django.utils.formats import date_format

from shop.preferences import current as preferences

ENGLISH = "en"
_LOCALES = {ENGLISH: "en_GB"}


def in_force() -> str:
    """Return the language that is spoken now: 'en', 'de'."""
    return (translation.get_language() or ENGLISH).partition("-")[0]


def is_english() -> bool:
    """Whether English is spoken now."""
    return in_force() == ENGLISH


def of_shop() -> AbstractContextManager[None]:
    """Return the block in which everything is said as the record keeps it: in English."""
    if translation.get_language() == settings.LANGUAGE_CODE:
        return nullcontext()  # the shop itself speaks it, and a move comes here three times
    return translation.override(settings.LANGUAGE_CODE)


def of_pages() -> AbstractContextManager[None]:
    """Return the block in which everything is said as the shop's own pages say it."""
    return translation.override(str(preferences.value("pages_language")))


def locale() -> Locale:
    """Return the forms of the language in force."""
    return _locale(in_force())


@cache
def _locale(language: str) -> Locale:
    return Locale.parse(_LOCALES.get(language, language))


@cache
def percent_translated(language: str) -> int:
    """Return how many in a hundred of the project's strings a language has, rounded down."""
    if language == ENGLISH:
        return 100
    folder = Path(settings.LOCALE_PATHS[0])
    strings = (folder / "django.pot").read_bytes().count(b"\nmsgid ")
    with (folder / language / "LC_MESSAGES" / "django.mo").open("rb") as file:
        _magic, _version, translated = struct.unpack("<3I", file.read(12))
    # The first is the head of the catalogue.
    return 100 * (translated - 1) // strings


def day(at: datetime | date) -> str:
    """Return a day in words, in the shop's time: '3 March 2031', '3. März 2031'."""
    return format_date(_date(at), "long", locale=locale())


def day_of_year(at: datetime | date) -> str:
    """Return a day without its year: '3 March', '3. März'."""
    return format_skeleton("MMMMd", _date(at), locale=locale())


# What the pages ask for, in the letters of Django, as fields of CLDR.
_FIELDS = {"j": "d", "d": "d", "F": "MMMM", "M": "MMM", "Y": "y", "l": "EEEE"}
_ORDER = ("y", "MMMM", "MMM", "EEEE", "d")


def moment(at: datetime | date, pattern: str) -> str:
    """Return a day, with its hour where the pattern has one, in the order of the language.

    The pattern is that of Django for English: 'j F, H:i'; other languages say the same of it.
    """
    if is_english():
        return date_format(at, pattern)
    days, _, hour = pattern.partition(", H")
    asked = {field for letter, field in _FIELDS.items() if letter in days}
    said = format_skeleton("".join(one for one in _ORDER if one in asked), at, locale=locale())
    if not hour:
        return str(said)
    return str(locale().datetime_formats["medium"]).format(f"{at:%H:%M}", said)


def number(value: Decimal) -> str:
    """Return a number with the decimal sign of the language, without needless places."""
    return format_decimal(value, locale=locale(), decimal_quantization=False)


def _date(at: datetime | date) -> date:
    return timezone.localdate(at) if isinstance(at, datetime) else at
