"""Settings in force: the environment first, then what was decided on the page, then the default."""

from __future__ import annotations

import math
import time
from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.signals import setting_changed
from django.db.models import Max, Q
from django.utils.translation import gettext

from shop.preferences import kinds, sealed
from shop.preferences.definitions import BY_NAME, GROUPS, Setting
from shop.preferences.kinds import BadText
from shop.preferences.models import SettingChange

# How long a process may go on with what it knows before it looks again.
FRESH_SECONDS = 2.0


@dataclass(frozen=True, slots=True)
class InForce:
    """A setting with its value, the text of it, and where it comes from."""

    setting: Setting
    value: Any
    text: str
    source: str  # page, environment or default

    @property
    def fixed(self) -> bool:
        """Whether the environment decides, so that the page cannot."""
        return self.source == "environment"

    @property
    def title(self) -> str:
        """What it is called, in the language of the page."""
        return gettext(self.setting.title)

    @property
    def about(self) -> str:
        """What there is to say of it, in the language of the page."""
        # Of no words gettext makes the head of the catalogue.
        return gettext(self.setting.about) if self.setting.about else ""


def title_of(name: str) -> str:
    """Return what a setting is called, in the language of the page; the name of one that is gone."""
    return gettext(BY_NAME[name].title) if name in BY_NAME else name


def group_titles() -> dict[str, str]:
    """Return what the groups of settings are called, by their keys, in the language of the page."""
    return {key: gettext(title) for key, title in GROUPS.items()}


def right(error: BadText) -> str:
    """Return what to write in place of a text that cannot be used, in the language of the page."""
    return gettext(error.words).format(**error.values)


def value(name: str) -> Any:
    """Return the value of a setting; KeyError for a name that is none."""
    setting = BY_NAME[name]
    if _is_fixed(setting.attribute):
        return getattr(settings, setting.attribute)
    if setting.secret:
        return sealed.opened(name)
    values = _stored.values()
    return values[name] if name in values else _default(name)


def on_one_line(name: str) -> str:
    """Return a text of several lines as one: '4 Tin Lane, Ostmere'."""
    lines = (line.strip(" ,") for line in str(value(name)).splitlines())
    return ", ".join(filter(None, lines))


def without_database(name: str) -> Any:
    """Return the value by environment or default alone: for commands that work on files."""
    setting = BY_NAME[name]
    return getattr(settings, setting.attribute, _default(name))


def in_force(name: str) -> InForce:
    """Return a setting as it is now."""
    setting = BY_NAME[name]
    if _is_fixed(setting.attribute):
        given = getattr(settings, setting.attribute)
        text = "" if setting.secret else settings.SHOP_TEXTS.get(name, str(given))
        return InForce(setting, given, text, "environment")
    if setting.secret:
        return InForce(setting, "", "", "page" if sealed.is_kept(name) else "default")
    texts = _stored.texts()
    if name in texts:
        return InForce(setting, _stored.values()[name], texts[name], "page")
    return InForce(setting, _default(name), setting.default, "default")


def all_in_force() -> list[InForce]:
    """Return every setting as it is now, in the order of the page."""
    return [in_force(name) for name in BY_NAME]


def zone() -> ZoneInfo:
    """Return the time zone of the shop."""
    return ZoneInfo(value("time_zone"))


class ZoneHistory:
    """The time zones that the shop had: what lies behind keeps its days."""

    def __init__(self, first: ZoneInfo, changes: list[tuple[datetime, ZoneInfo]]) -> None:
        self._zones = [first, *(zone for _, zone in changes)]
        self._changed_at = [at for at, _ in changes]

    def at(self, moment: datetime) -> ZoneInfo:
        """Return the zone at a moment (aware)."""
        return self._zones[bisect_right(self._changed_at, moment)]

    def changed(self, since: datetime, until: datetime) -> bool:
        """Tell whether the shop got another zone after `since`, up to `until`."""
        return bool(self._changed_at) and any(since < at <= until for at in self._changed_at)


def zone_history() -> ZoneHistory:
    """Return the zones that the shop had up to now; one that is set from outside was always so."""
    default = ZoneInfo(BY_NAME["time_zone"].default)
    changes = [(at, ZoneInfo(name) if name else default) for at, name in _stored.zones()]
    if _is_fixed(BY_NAME["time_zone"].attribute):
        changes = [(at, zone()) for at, _ in changes]
        return ZoneHistory(zone(), changes)
    return ZoneHistory(default, changes)


def forget() -> None:
    """Look again at the next question: something was decided."""
    _stored.forget()


def known_to_be_unset() -> None:
    """Go by defaults until something is decided in this process: for tests and for a fresh shop."""
    _stored.take({}, [], until=math.inf)


@cache
def _is_fixed(attribute: str) -> bool:
    # A move asks a dozen settings, and Django finds slowly that it has none of that name.
    return hasattr(settings, attribute)


setting_changed.connect(lambda **_: _is_fixed.cache_clear(), weak=False)


@cache
def _default(name: str) -> Any:
    setting = BY_NAME[name]
    return setting.read(setting.default)


class _Stored:
    """What was decided on the page, asked of the database every few seconds."""

    def __init__(self) -> None:
        self._texts: dict[str, str] = {}
        self._values: dict[str, Any] = {}
        # When the shop got which time zone; an empty name is the default.
        self._zones: list[tuple[datetime, str]] = []
        self._until = 0.0

    def texts(self) -> dict[str, str]:
        self._look()
        return self._texts

    def values(self) -> dict[str, Any]:
        self._look()
        return self._values

    def zones(self) -> list[tuple[datetime, str]]:
        self._look()
        return self._zones

    def forget(self) -> None:
        self._until = 0.0

    def take(
        self, texts: dict[str, str], zones: list[tuple[datetime, str]], *, until: float
    ) -> None:
        """Go by these texts; one that no longer reads is as if nobody had decided."""
        self._texts, self._values = {}, {}
        for name, text in texts.items():
            try:
                self._values[name] = BY_NAME[name].read(text)
            except BadText:
                continue
            self._texts[name] = text
        self._zones, self._until = zones, until

    def _look(self) -> None:
        if time.monotonic() >= self._until:
            self.take(*_decided(), until=time.monotonic() + FRESH_SECONDS)


def _decided() -> tuple[dict[str, str], list[tuple[datetime, str]]]:
    newest = SettingChange.objects.values("name").annotate(last=Max("id")).values("last")
    wanted = Q(id__in=newest, name__in=BY_NAME) | Q(name="time_zone")
    rows = SettingChange.objects.filter(wanted).order_by("id")
    texts = {row.name: row.text for row in rows if not row.cleared}
    for row in rows:
        if row.cleared:
            texts.pop(row.name, None)
    return texts, sorted((row.at, row.text) for row in rows if _is_zone(row))


def _is_zone(row: SettingChange) -> bool:
    return row.name == "time_zone" and (row.cleared or row.text in kinds.zones())


_stored = _Stored()
