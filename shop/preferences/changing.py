"""Deciding about settings: checked whole, written as rows, told to whoever hangs on them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from checklists.engine.quoting import quoted
from shop.preferences import current, sealed
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
    texts = _with_password_forgotten(texts)
    changed = [name for name, text in texts.items() if _differs(name, text)]
    with transaction.atomic():
        SettingChange.objects.bulk_create(
            SettingChange(
                name=n, text=_told(n, texts[n]), cleared=_goes_back(n, texts[n]), at=at, by=by
            )
            for n in changed
        )
        for name in changed:
            if BY_NAME[name].secret:
                sealed.keep(name, texts[name] or "")
        current.forget()
        if changed:
            settings_changed.send(sender=SettingChange, names=changed, at=at)
    return changed


def _with_password_forgotten(texts: Mapping[str, str | None]) -> Mapping[str, str | None]:
    """Let no password go to a server or under a user that it was not typed for."""
    moved = any(_differs(name, texts[name]) for name in ("mail_host", "mail_user") if name in texts)
    if moved and not texts.get("mail_password") and not current.in_force("mail_password").fixed:
        return {**texts, "mail_password": None}
    return texts


def _told(name: str, text: str | None) -> str:
    """Return what the history keeps: of a secret nothing but that it changed."""
    return "" if BY_NAME[name].secret else text or ""


def _goes_back(name: str, text: str | None) -> bool:
    """Tell whether a setting goes back to its default."""
    return text is None or (BY_NAME[name].secret and not text)


def _problem(name: str, text: str | None) -> str:
    setting = BY_NAME.get(name)
    if setting is None:
        return _("{name} is no setting of the shop.").format(name=quoted(name))
    if current.in_force(name).fixed:
        fixed = _("{title} is set by {variable}; change it there.")
        return fixed.format(title=current.title_of(name), variable=f"BENCHTAG_{setting.variable}")
    return "" if text is None else _unreadable(setting, text)


def _unreadable(setting: Setting, text: str) -> str:
    try:
        setting.read(text)
    except BadText as error:
        return _("{title} is {text}; write {right}.").format(
            title=current.title_of(setting.name), text=quoted(text), right=current.right(error)
        )
    return ""


def _differs(name: str, text: str | None) -> bool:
    now = current.in_force(name)
    if BY_NAME[name].secret:
        return bool(text) or now.source == "page"
    return now.source == "page" if text is None else text != now.text
