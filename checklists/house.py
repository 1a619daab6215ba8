"""Writing house rules: a draft that is looked at before it is published."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from checklists import published
from checklists.models import HouseEdition

Content = dict[str, list[dict[str, Any]]]
_NAME_OF = {"rule": "id", "step": "key", "hazard": "key"}


class NothingToPublish(Exception):
    """There is no draft; the message is a sentence."""


class DraftTaken(Exception):
    """The first draft of all was started twice at once; the message is a sentence."""


def in_force() -> Content:
    """Return the published house rules."""
    newest = HouseEdition.objects.exclude(published_at=None).order_by("-version").first()
    return _whole(newest.content if newest else {})


def draft() -> HouseEdition | None:
    """Return the draft, if there is one."""
    return HouseEdition.objects.filter(published_at=None).first()


def draft_or_in_force() -> Content:
    """Return what the draft holds, or what is in force when there is none."""
    started = draft()
    return _whole(started.content) if started else in_force()


def with_tables(content: Content, **tables: dict[str, Any] | None) -> Content:
    """Return content with a rule, step or hazard added; one of the same name is replaced."""
    changed = deepcopy(content)
    for what, table in tables.items():
        if table:
            name = _NAME_OF[what]
            kept = [t for t in changed.get(what, ()) if t[name] != table[name]]
            changed[what] = [*kept, table]
    return changed


def without_rule(content: Content, rule: str) -> Content:
    """Return content without a rule, the steps that only it required, and what only these clear."""
    whole = _whole(content)
    kept = [table for table in whole["rule"] if table["id"] != rule]
    required = {key for table in kept for key in table.get("require", ())}
    gone = {table["key"] for table in whole["step"]} - required
    steps = [table for table in whole["step"] if table["key"] in required]
    hazards = [t for t in whole["hazard"] if not gone.issuperset(t.get("cleared_by", ()))]
    return {"rule": kept, "step": steps, "hazard": hazards}


def revise(change: Callable[[Content], Content], *, by: str, at: datetime) -> HouseEdition:
    """Change the draft, or start one from what is in force, and return it.

    The draft is read again under a lock, so two owners who write at once keep each other's
    rules. PackError when the pack would not be usable with the result; then nothing is kept.
    """
    with transaction.atomic():
        newest = HouseEdition.objects.select_for_update().order_by("-version").first()
        content = change(_whole(newest.content if newest else {}))
        published.with_house_rules(content)
        if newest is None or newest.published_at is not None:
            newest = HouseEdition(version=newest.version + 1 if newest else 1)
        newest.content, newest.changed_at, newest.changed_by = content, at, by
        try:
            with transaction.atomic():
                newest.save()
        except IntegrityError:
            raise DraftTaken("Somebody else started a draft at this moment; try again.") from None
    return newest


def publish(*, by: str, at: datetime) -> HouseEdition:
    """Put the draft in force; NothingToPublish, or PackError when it no longer fits the pack."""
    with transaction.atomic():
        started = HouseEdition.objects.select_for_update().filter(published_at=None).first()
        if started is None:
            raise NothingToPublish("There is no draft to publish.")
        published.with_house_rules(started.content)
        started.published_at, started.changed_by = at, by
        started.save()
        published.refresh()
        # Another thread may have looked again before this was stored.
        transaction.on_commit(published.refresh)
    return started


def _whole(content: dict[str, Any]) -> Content:
    return {what: list(content.get(what, ())) for what in _NAME_OF}
