"""Deciding about settings: checked whole, written as rows, told to whoever hangs on them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from checklists.engine.quoting import quoted
from shop.preferences import current
from shop.preferences.definitions import BY_NAME, Setting
from shop.preferences.kinds import BadText
from shop.preferences.models import SettingChange
from shop.preferences.signals import settings_changed


class CannotSet(ValueError):
    """Settings that cannot be taken: a sentence for each, by name. Nothing was written."""

    def __init__(self, problems: dict[str, str]) -> None:
        self.problems = problems
        super().__init__(" ".join(problems.values()))


def change(texts: Mapping[str, str | None], *, by: str, at: datetime) -> list[str]:
    """Decide about some settings and return the names that changed.

    texts: by name, as typed; None goes back to the default. CannotSet names every fault: a name
    that is none, a text that does not read, a setting that the environment decides.
    """
    problems = {name: said for name, text in texts.items() if (said := _problem(name, text))}
    if problems:
        raise CannotSet(problems)
    changed = [name for name, text in texts.items() if _differs(name, text)]
    with transaction.atomic():
        SettingChange.objects.bulk_create(
            SettingChange(name=n, text=texts[n] or "", cleared=texts[n] is None, at=at, by=by)
            for n in changed
        )
        current.forget()
        if changed:
            settings_changed.send(sender=SettingChange, names=changed, at=at)
    return changed


def _problem(name: str, text: str | None) -> str:
    setting = BY_NAME.get(name)
    if setting is None:
        return f"{quoted(name)} is no setting of the shop."
    if current.in_force(name).fixed:
        return f"{setting.title} is set by BENCHTAG_{setting.variable}; change it there."
    return "" if text is None else _unreadable(setting, text)


def _unreadable(setting: Setting, text: str) -> str:
    try:
        setting.read(text)
    except BadText as error:
        return f"{setting.title} is {quoted(text)}; write {error}."
    return ""


def _differs(name: str, text: str | None) -> bool:
    now = current.in_force(name)
    return now.source == "page" if text is None else text != now.text
