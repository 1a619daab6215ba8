"""What is usual in a country: proposed when a shop says where it is, and never taken by itself."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import holidays
from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.languages import get_official_languages
from babel.numbers import get_territory_currencies

from shop.preferences import current, kinds, languages
from shop.preferences.current import InForce

FILE = Path(__file__).parent / "countries.toml"
# Countries that use US Letter, by the data on measures of CLDR; from memory.
US_LETTER = frozenset(
    ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"]
)
CLDR, HOLIDAYS_LIBRARY, OWN_TABLE = "CLDR", "library holidays", "common practice"


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is usual for one setting, where that is known from, and what is in force."""

    name: str
    text: str
    source: str
    now: InForce

    @property
    def title(self) -> str:
        """What the setting is called."""
        return self.now.title

    @property
    def undecided(self) -> bool:
        """Whether nobody has decided about it, neither on the page nor on the machine."""
        return self.now.source == "default"


def proposals(country: str) -> list[Proposal]:
    """Return what is usual in a country (ISO 3166) and differs from what is in force.

    What the machine decides is left out: nobody could take it.
    """
    usual = [
        Proposal(name, text, source, current.in_force(name))
        for name, text, source in _usual(country)
    ]
    return [one for one in usual if not one.now.fixed and one.now.text != one.text]


def undecided(country: str) -> dict[str, str]:
    """Return what is usual for the settings that nobody has decided about."""
    return {one.name: one.text for one in proposals(country) if one.undecided}


def _usual(country: str) -> Iterator[tuple[str, str, str]]:
    """Yield name, text and source of each setting that has something usual in a country."""
    if not country:
        return
    own = _table().get(country, {})
    for name, text in (
        ("currency", _currency(country)),
        ("decimal_sign", _decimal_sign(country)),
        ("time_zone", own.get("zone") or _only_zone(country)),
        ("customers_language", _language(country)),
        ("paper_size", "us-letter" if country in US_LETTER else "a4"),
    ):
        if text:
            yield name, text, OWN_TABLE if text == own.get("zone") else CLDR
    if country in holidays.list_supported_countries():
        yield "holidays", country, HOLIDAYS_LIBRARY
    for name, key in (("tax_name", "tax"), ("mains_volts", "volts"), ("practice", "practice")):
        if key in own:
            yield name, str(own[key]), OWN_TABLE


@cache
def _table() -> dict[str, dict[str, Any]]:
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


def _currency(country: str) -> str:
    used: list[str] = get_territory_currencies(country)
    return used[0] if len(used) == 1 else ""


def _only_zone(country: str) -> str:
    """Return the time zone of a country that has one."""
    zones = [zone for zone, place in get_global("zone_territories").items() if place == country]
    return zones[0] if len(zones) == 1 and zones[0] in kinds.zones() else ""


def _language(country: str) -> str:
    """Return the first official language of a country that the shop can write in."""
    official = get_official_languages(country, de_facto=True)
    return next((language for language in official if language in languages.NAMES), "")


def _decimal_sign(country: str) -> str:
    for language in get_official_languages(country, de_facto=True):
        try:
            symbols = Locale.parse(f"{language}_{country}").number_symbols
        except (UnknownLocaleError, ValueError):
            continue
        sign = symbols.get("latn", {}).get("decimal", "")
        return sign if sign in (".", ",") else ""
    return ""
