"""Settings in force: the environment first, then what was decided on the page, then the default."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db.models import Max

from shop.preferences.definitions import BY_NAME, Setting
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


def value(name: str) -> Any:
    """Return the value of a setting; KeyError for a name that is none."""
    setting = BY_NAME[name]
    if hasattr(settings, setting.variable):
        return getattr(settings, setting.variable)
    return _stored.values().get(name, _default(setting))


def without_database(name: str) -> Any:
    """Return the value by environment or default alone: for commands that work on files."""
    setting = BY_NAME[name]
    return getattr(settings, setting.variable, _default(setting))


def in_force(name: str) -> InForce:
    """Return a setting as it is now."""
    setting = BY_NAME[name]
    if hasattr(settings, setting.variable):
        given = getattr(settings, setting.variable)
        return InForce(setting, given, settings.SHOP_TEXTS.get(name, str(given)), "environment")
    texts = _stored.texts()
    if name in texts:
        return InForce(setting, _stored.values()[name], texts[name], "page")
    return InForce(setting, _default(setting), setting.default, "default")


def all_in_force() -> list[InForce]:
    """Return every setting as it is now, in the order of the page."""
    return [in_force(name) for name in BY_NAME]


def forget() -> None:
    """Look again at the next question: something was decided."""
    _stored.forget()


def known_to_be_unset() -> None:
    """Go by defaults until something is decided in this process: for tests and for a fresh shop."""
    _stored.take({}, until=math.inf)


def _default(setting: Setting) -> Any:
    return setting.read(setting.default)


class _Stored:
    """What was decided on the page, asked of the database every few seconds."""

    def __init__(self) -> None:
        self._texts: dict[str, str] = {}
        self._values: dict[str, Any] = {}
        self._until = 0.0

    def texts(self) -> dict[str, str]:
        self._look()
        return self._texts

    def values(self) -> dict[str, Any]:
        self._look()
        return self._values

    def forget(self) -> None:
        self._until = 0.0

    def take(self, texts: dict[str, str], *, until: float) -> None:
        """Go by these texts; one that no longer reads is as if nobody had decided."""
        self._texts, self._values = {}, {}
        for name, text in texts.items():
            try:
                self._values[name] = BY_NAME[name].read(text)
            except BadText:
                continue
            self._texts[name] = text
        self._until = until

    def _look(self) -> None:
        if time.monotonic() >= self._until:
            self.take(_decided(), until=time.monotonic() + FRESH_SECONDS)


def _decided() -> dict[str, str]:
    newest = SettingChange.objects.values("name").annotate(last=Max("id")).values("last")
    rows = SettingChange.objects.filter(id__in=newest, cleared=False, name__in=BY_NAME)
    return dict(rows.values_list("name", "text"))


_stored = _Stored()
