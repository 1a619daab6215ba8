"""Writing house rules: a draft that is looked at before it is published."""

from __future__ import annotations

from copy import deepcopy
from datetime import datetime
from typing import Any

from django.db import transaction

from checklists import published
from checklists.models import HouseEdition

Content = dict[str, list[dict[str, Any]]]
_NAME_OF = {"rule": "id", "step": "key"}


class NothingToPublish(Exception):
    """There is no draft; the message is a sentence."""


def in_force() -> Content:
    """Return the published house rules."""
    newest = HouseEdition.objects.exclude(published_at=None).order_by("-version").first()
    return _whole(newest.content if newest else {})


def draft() -> HouseEdition | None:
    """Return the draft, if there is one."""
    return HouseEdition.objects.filter(published_at=None).first()


def wanted() -> Content:
    """Return what the draft holds, or what is in force when there is none."""
    started = draft()
    return _whole(started.content) if started else in_force()


def with_tables(content: Content, **tables: dict[str, Any] | None) -> Content:
    """Return content with a rule or step added; one of the same name is replaced."""
    changed = deepcopy(content)
    for what, table in tables.items():
        if table:
            name = _NAME_OF[what]
            changed[what] = [t for t in changed[what] if t[name] != table[name]] + [table]
    return changed


def without(content: Content, rule: str) -> Content:
    """Return content without a rule, and without the steps that only it required."""
    kept = [table for table in content["rule"] if table["id"] != rule]
    required = {key for table in kept for key in table.get("require", ())}
    return {"rule": kept, "step": [t for t in content["step"] if t["key"] in required]}


def keep(content: Content, *, by: str, at: datetime) -> HouseEdition:
    """Store the draft; PackError when the pack would not be usable with it."""
    published.with_own(content)
    with transaction.atomic():
        newest = HouseEdition.objects.select_for_update().order_by("-version").first()
        if newest is None or newest.published_at is not None:
            version = newest.version + 1 if newest else 1
            newest = HouseEdition(version=version)
        newest.content, newest.changed_at, newest.changed_by = content, at, by
        newest.save()
    return newest


def publish(*, by: str, at: datetime) -> HouseEdition:
    """Put the draft in force; NothingToPublish, or PackError when it no longer fits the pack."""
    with transaction.atomic():
        started = HouseEdition.objects.select_for_update().filter(published_at=None).first()
        if started is None:
            raise NothingToPublish("There is no draft to publish.")
        published.with_own(started.content)
        started.published_at, started.changed_by = at, by
        started.save()
    published.look_again()
    return started


def _whole(content: dict[str, Any]) -> Content:
    return {"rule": list(content.get("rule", ())), "step": list(content.get("step", ()))}
