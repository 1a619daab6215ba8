"""Finds words on a page that no translation reached: a catalogue in quotes stands for the language.

What the shop has on record, the words of the rules, names, codes and units are no findings.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

from babel import Locale
from django.apps import apps
from django.contrib.auth.models import User
from django.utils.translation import trans_real

from shop.bench.audio.equalisation import CURVES
from shop.jobs.forms import SECTIONS
from shop.preferences import current, kinds, languages
from shop.preferences.definitions import BY_NAME
from tests.project import pack_catalogue
from tests.project.catalogues import TEMPLATE, read
from tests.project.untranslated import NAMES, NOT_WORDS, READ

# It has forms of numbers and days that are not English, and so shows where they break a page.
LANGUAGE = "de"
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_UNITS = frozenset(["ohm", "mohm", "kohm", "uF", "nF", "pF", "uH", "mA", "pc", "kHz", "arcmin"])
# Names of settings, keys of steps, codes: what is alike in every language.
_CODE = re.compile(r"\S*[_/@=<>{}\\]\S*|\b[A-Z]+[A-Z0-9-]*\b|\b\w*\d\w*\b")


def known_strings() -> frozenset[str]:
    """Return the strings of the template, and those that a library has in this language."""
    ours = [message for message in read(TEMPLATE) if message.id]
    keys = {_key(one.id if isinstance(one.id, str) else one.id[0], one.context) for one in ours}
    # Several catalogues in one, which cannot be gone through as a dict can.
    theirs = trans_real.DjangoTranslation(LANGUAGE)._catalog.keys()
    return frozenset(keys | {key if isinstance(key, str) else key[0] for key in theirs})


def _key(words: str, context: str | None) -> str:
    return f"{context}\x04{words}" if context else words


class _Reader(HTMLParser):
    """Collects what a person reads outside of quotes, which may reach over several elements."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._silent: list[str] = []
        self._depth = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        # What says of itself which language it is in has to be in no other.
        other = tag in NOT_WORDS or (tag not in ("html", "input") and "lang" in given)
        if other or tag in self._silent:
            self._silent.append(tag)
        silent = self._silent or _is_for_machines(tag, given)
        for name, value in attrs if not silent else ():
            if value and (name in READ or (tag == "input" and name == "value")):
                inside, self._depth = self._depth, 0
                self._take(value)
                self._depth = inside

    def handle_endtag(self, tag: str) -> None:
        if self._silent and self._silent[-1] == tag:
            self._silent.pop()

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self._take(data)

    def _take(self, data: str) -> None:
        for part in re.split("([«»])", data):
            if part in "«»" and part:
                self._depth += 1 if part == "«" else -1
            elif self._depth <= 0 and part.strip():
                self.found.append(" ".join(part.split()))


def _is_for_machines(tag: str, given: dict[str, str | None]) -> bool:
    of_machine = given.get("type") in ("hidden", "radio", "checkbox")
    return tag == "meta" or of_machine or (tag == "input" and "lang" in given)


def read_outside_of_quotes(html: str) -> list[str]:
    """Return what a person reads on a page outside of quotes."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader.found


def escaping(html: str, known: list[str]) -> Iterator[str]:
    """Yield what stands on a page outside of quotes and is not known, longest first, as data."""
    for words in read_outside_of_quotes(html):
        rest = words
        for one in known:
            if one in rest:
                rest = re.sub(rf"(?<!\w){re.escape(one)}(?!\w)", " ", rest)
        if any(word not in NAMES | _UNITS for word in _LETTERS.findall(_CODE.sub(" ", rest))):
            yield words


def on_record() -> list[str]:
    """Return what people typed and the rules say, longest first: what no catalogue has to hold."""
    every = {*_of_database(), *_of_pack(), *_of_shop(), *_of_cldr()}
    return sorted((one for one in every if len(one) > 1), key=len, reverse=True)


def _of_database() -> Iterator[str]:
    for model in apps.get_models():
        for row in model._default_manager.values():
            for value in row.values():
                yield from (one for one in _strings(value) if not _is_key(one))
    yield from User.objects.values_list("username", flat=True)


def _is_key(words: str) -> bool:
    """Whether this is a name in the code, as stages and facts are, and no words of a person."""
    return re.fullmatch(r"[a-z][a-z0-9_.-]*", words) is not None


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str) and value.startswith('{"'):
        yield from _strings(json.loads(value))
    elif isinstance(value, str):
        yield from (" ".join(line.split()) for line in value.splitlines())
        yield " ".join(value.split())
    elif isinstance(value, dict):
        for one in value.values():
            yield from _strings(one)
    elif isinstance(value, list):
        for one in value:
            yield from _strings(one)


def _of_pack() -> Iterator[str]:
    """What the rule pack says, in the forms in which pages show it."""
    for words in (one.text for one in pack_catalogue.wordings()):
        yield from (words, words[:1].upper() + words[1:], words[:1].lower() + words[1:])


def _of_shop() -> Iterator[str]:
    """What the settings say, and languages by their own names."""
    yield from languages.NAMES.values()
    yield from (zone.replace("_", " ") for zone in kinds.zones())
    yield from (*CURVES, "Modbus TCP")
    yield from (section.replace("-", " ") for section in SECTIONS)
    yield from (*SECTIONS, *BY_NAME["practice"].kind.choices)
    yield from (one.text for one in current.all_in_force())


def _of_cldr() -> Iterator[str]:
    """Days and months, which babel and Django have in every language; names of countries."""
    locale = Locale(LANGUAGE)
    for forms in (locale.months, locale.days):
        for widths in forms.values():
            for names in widths.values():
                yield from names.values()
    yield from locale.territories.values()
