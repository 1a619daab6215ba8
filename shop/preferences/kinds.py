"""The kinds of setting: how each is read from text, in the environment and on the page alike.

A reader takes the text and returns the value, or raises BadText with what would be right. No
Django: the environment is read before anything else.
"""

from __future__ import annotations

import base64
import binascii
import ipaddress
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from email.utils import parseaddr
from functools import cache
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import available_timezones

import holidays
from babel import Locale
from babel.numbers import is_currency
from stdnum import bic, iban
from stdnum.exceptions import ValidationError

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST = 2000
# A picture is kept as text that a page can show: this is what stands before its bytes.
PICTURE_HEAD = "data:image/png;base64,"
LARGEST_PICTURE = 150_000
_PNG = b"\x89PNG\r\n\x1a\n"


def gettext_noop(words: str) -> str:
    """Mark words for the catalogues. Django's own function reads settings, which this is read for."""
    return words


class BadText(ValueError):
    """A text that cannot be used; the message says what to write: 'a whole number from 0 to 23'.

    Pages say it in their language, by `words` and `values`.
    """

    def __init__(self, words: str, **values: object) -> None:
        super().__init__(words.format(**values))
        self.words, self.values = words, values


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind: its name for the API, its reader, and the words to choose from where there are any."""

    name: str
    read: Callable[[str], Any]
    choices: tuple[str, ...] = ()


def whole(low: int = 0, high: int = 10**9) -> Kind:
    """A whole number within low..high."""

    def read(raw: str) -> int:
        plain = raw.isascii() and raw.isdigit() and len(raw) <= 18
        if not plain or not low <= int(raw) <= high:
            raise BadText(gettext_noop("a whole number from {low} to {high}"), low=low, high=high)
        return int(raw)

    return Kind("int", read)


def amount(high: int = 10**6) -> Kind:
    """An exact number from 0 to `high`, such as a price or a rate in per cent."""

    def read(raw: str) -> Decimal:
        try:
            given = Decimal(raw)
        except InvalidOperation:
            given = Decimal(-1)
        if not given.is_finite() or not 0 <= given <= high:
            raise BadText(gettext_noop("a number like 19 or 19.5, to {high}"), high=high)
        return given

    return Kind("decimal", read)


def one_of(*words: str) -> Kind:
    """One of a few words."""

    def read(raw: str) -> str:
        if raw not in words:
            raise BadText(gettext_noop("one of {choices}"), choices=", ".join(words))
        return raw

    return Kind("choice", read, words)


def _flag(raw: str) -> bool:
    if raw not in ("yes", "1", "no", "0"):
        raise BadText(gettext_noop("yes or no"))
    return raw in ("yes", "1")


def _text(raw: str) -> str:
    if len(raw) > LONGEST:
        raise BadText(gettext_noop("at most {longest} characters"), longest=LONGEST)
    return raw


def _currency(raw: str) -> str:
    if not is_currency(raw):
        raise BadText(gettext_noop("a code of ISO 4217: EUR"))
    return raw


def _country(raw: str) -> str:
    code = raw.upper()
    if raw and not (len(code) == 2 and code.isalpha() and code in Locale("en").territories):
        raise BadText(gettext_noop("a country by its two letters (ISO 3166): DE"))
    return code


def _iban(raw: str) -> str:
    """Read the number of an account (ISO 13616), its check digits included; empty while not set."""
    try:
        return iban.validate(raw) if raw else ""
    except ValidationError:
        raise BadText(
            gettext_noop("an IBAN as the bank gives it; a letter or figure is wrong")
        ) from None


def _bic(raw: str) -> str:
    """Read the code of a bank (ISO 9362); empty while not set."""
    try:
        return bic.validate(raw) if raw else ""
    except ValidationError:
        raise BadText(
            gettext_noop("a BIC of eight or eleven letters and figures, as the bank gives it")
        ) from None


def _vatex(raw: str) -> str:
    """Read a code of the list VATEX, by its shape; empty while not set."""
    code = raw.upper()
    if code and not re.fullmatch(r"VATEX-[A-Z]{2}-[A-Z0-9-]{1,20}", code):
        raise BadText(gettext_noop("a code like VATEX-EU-132"))
    return code


def _email(raw: str) -> str:
    name, _, place = raw.rpartition("@")
    if raw and (not name or "." not in place or any(sign.isspace() for sign in raw)):
        raise BadText(gettext_noop("one address, like bench@example.org"))
    return raw


def _weekdays(raw: str) -> frozenset[int]:
    given = raw.lower().replace(",", " ").split()
    if not given or any(word not in WEEKDAYS for word in given):
        raise BadText(gettext_noop("days like 'mon tue fri'"))
    return frozenset(WEEKDAYS.index(word) for word in given)


def _days(raw: str) -> frozenset[date]:
    """Read single days and ranges: '2026-12-24..2027-01-03 2027-05-14'."""
    closed: set[date] = set()
    for word in raw.replace(",", " ").split():
        first, _, last = word.partition("..")
        try:
            begins, ends = date.fromisoformat(first), date.fromisoformat(last or first)
        except ValueError:
            raise BadText(gettext_noop("days like 2026-12-24..2027-01-03")) from None
        if not 0 <= (ends - begins).days <= 366:
            raise BadText(
                gettext_noop(
                    "days like 2026-12-24..2027-01-03, where a range runs forward, a year at most"
                )
            )
        closed.update(begins + timedelta(days=n) for n in range((ends - begins).days + 1))
    return frozenset(closed)


def _holidays(raw: str) -> str:
    country, _, part = raw.partition("-")
    try:
        if raw:
            holidays.country_holidays(country, subdiv=part or None)
    except NotImplementedError:
        raise BadText(
            gettext_noop("a country (ISO 3166), with its part if need be: DE, DE-BY, GB-SCT")
        ) from None
    return raw


def _address(raw: str) -> str:
    parts = urlsplit(raw)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise BadText(gettext_noop("an address with its scheme, like https://bench.example"))
    return raw.rstrip("/")


def _networks(raw: str) -> tuple[ipaddress.IPv4Network | ipaddress.IPv6Network, ...]:
    try:
        return tuple(ipaddress.ip_network(word) for word in raw.replace(",", " ").split())
    except ValueError:
        raise BadText(gettext_noop("addresses or networks like 127.0.0.1 10.0.0.0/8")) from None


def _sockets(raw: str) -> int:
    """Read the volts of the sockets; 0 while nobody has said."""
    if not raw:
        return 0
    if not (raw.isascii() and raw.isdigit() and len(raw) <= 3 and 90 <= int(raw) <= 260):
        raise BadText(gettext_noop("a whole number of volts from 90 to 260"))
    return int(raw)


def _places(raw: str) -> int:
    """Read the places at the bench; 0 while nobody has said."""
    return int(whole(1, 50).read(raw)) if raw else 0


@cache
def zones() -> frozenset[str]:
    """Return the names of all time zones (the zone database, IANA)."""
    return frozenset(available_timezones())


def _time_zone(raw: str) -> str:
    if raw not in zones():
        raise BadText(gettext_noop("a zone by its name: Europe/Berlin, America/New_York"))
    return raw


def _picture(raw: str) -> str:
    """Read a picture as it is kept: a PNG of our own making."""
    if not raw:
        return ""
    try:
        plain = base64.b64decode(raw.removeprefix(PICTURE_HEAD), validate=True)
    except (binascii.Error, ValueError):
        plain = b""
    if not raw.startswith(PICTURE_HEAD) or not plain.startswith(_PNG):
        raise BadText(gettext_noop("a picture: JPEG, HEIC, PNG or WebP"))
    if len(plain) > LARGEST_PICTURE:
        raise BadText(gettext_noop("a picture of at most {size} kB"), size=LARGEST_PICTURE // 1000)
    return raw


def _host(raw: str) -> str:
    named = re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,251}[A-Za-z0-9])?", raw)
    if raw and not (named or _is_address(raw)):
        raise BadText(gettext_noop("the name of a server alone, like mail.example.org"))
    return raw


def _is_address(raw: str) -> bool:
    try:
        ipaddress.ip_address(raw)
    except ValueError:
        return False
    return True


def _sender(raw: str) -> str:
    """Read who mail comes from, with or without a name."""
    _, address = parseaddr(raw)
    if not re.fullmatch(r"[^\s@]+@[^\s@]+", address) or not raw.isprintable():
        raise BadText(
            gettext_noop("an address, or a name with its address: Tin Lane <bench@example.org>")
        )
    return raw


@dataclass(frozen=True, slots=True)
class Carrier:
    """Who carries parcels: a name, and the address that follows one, with {number} in it."""

    name: str
    pattern: str


def _carriers(raw: str) -> tuple[Carrier, ...]:
    """Read carriers, one a line: the name, then the address that follows a parcel."""
    found: dict[str, Carrier] = {}
    for line in filter(None, map(str.strip, _text(raw).splitlines())):
        name, _, pattern = line.rpartition(" ")
        if not name or not _follows(pattern) or name.casefold() in found:
            raise BadText(
                gettext_noop(
                    "each line with another name and an address that has {{number}} in it, like "
                    "'North Post https://north.example/follow?id={{number}}'; not {line!r}"
                ),
                line=line[:80],
            )
        found[name.strip().casefold()] = Carrier(name.strip(), pattern)
    return tuple(found.values())


def _follows(pattern: str) -> bool:
    try:
        parts = urlsplit(pattern)
    except ValueError:
        return False
    # Not in the name of the host: what somebody types must not choose where the link leads.
    in_host = "{" in parts.netloc
    named = "{number}" in pattern and not re.search(r"[{}]", pattern.replace("{number}", ""))
    return parts.scheme in ("http", "https") and bool(parts.hostname) and named and not in_host


CARRIERS = Kind("carriers", _carriers)
PLACES = Kind("places", _places)
TIME_ZONE = Kind("timezone", _time_zone)
LINES = Kind("lines", _text)
PICTURE = Kind("picture", _picture)
HOST = Kind("host", _host)
SECRET = Kind("secret", _text)
SENDER = Kind("sender", _sender)
SOCKETS = Kind("volts", _sockets)
FLAG = Kind("bool", _flag, ("yes", "no"))
TEXT = Kind("text", _text)
COUNTRY = Kind("country", _country)
IBAN = Kind("iban", _iban)
BIC = Kind("bic", _bic)
VATEX = Kind("vatex", _vatex)
EMAIL = Kind("email", _email)
CURRENCY = Kind("currency", _currency)
WEEKDAYS_OPEN = Kind("weekdays", _weekdays)
DAYS = Kind("days", _days)
HOLIDAYS = Kind("holidays", _holidays)
ADDRESS = Kind("address", _address)
NETWORKS = Kind("networks", _networks)
