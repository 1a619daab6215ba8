"""The pack that open jobs follow: the shipped one, the shop's folder, and the shop's own rules."""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings

from checklists.engine import reading_packs
from checklists.engine.pack import Pack, PackError
from checklists.models import HouseEdition

log = logging.getLogger(__name__)

# How long a process may go on with the edition it knows before it looks again.
FRESH_SECONDS = 2.0
_FAULTS_NAMED = 3

# In force instead of house rules that cannot be read: nobody gets mains until they can.
_BARRED: dict[str, Any] = {
    "step": [
        {
            "key": "house-rules-unreadable",
            "title": "The shop's own rules cannot be read",
            "instruction": "The owner puts the house rules right on the rules page; until then no unit gets mains.",
            "phase": "intake",
            "gate": "first-power",
            "gate_once_opened": "limited-power",
            "hold": True,
            "signed_by": [],
            "source": "common practice",
        }
    ],
    "rule": [
        {
            "id": "house-rules-unreadable",
            "when": "true",
            "require": ["house-rules-unreadable"],
            "because": "What the shop added to the pack cannot be read any more.",
            "source": "common practice",
        }
    ],
}


def pack() -> Pack:
    """Return the pack of the folders, read once per process and without a database.

    PackError when it cannot be used.
    """
    return _loaded(settings.PACK_FOLDER, settings.HOUSE_PACK_FOLDER, "")


def shipped() -> Pack:
    """Return the pack without what the shop added; PackError when it cannot be used."""
    return _loaded(settings.PACK_FOLDER, None, "")


def current() -> Pack:
    """Return the pack in force: that of the folders with the newest published house rules.

    House rules that can no longer be read bar all mains instead of being left out.
    """
    held = _held.get()
    own = _newest.content() if held is None else held
    try:
        return _loaded(settings.PACK_FOLDER, settings.HOUSE_PACK_FOLDER, own)
    except PackError as error:
        log.exception("the published house rules cannot be read; mains is barred")
        barred = json.dumps(_barred(error))
        return _loaded(settings.PACK_FOLDER, settings.HOUSE_PACK_FOLDER, barred)


def _barred(error: PackError) -> dict[str, Any]:
    """Return what is in force instead, naming the rules that cannot be read."""
    [step] = _BARRED["step"]
    faults = " ".join(error.problems[:_FAULTS_NAMED])
    more = len(error.problems) - _FAULTS_NAMED
    told = f"{step['instruction']} {faults}" + (f" And {more} more." if more > 0 else "")
    return {**_BARRED, "step": [{**step, "instruction": told}]}


def with_house_rules(content: dict[str, Any]) -> Pack:
    """Return the pack as it would be with these house rules; PackError when they do not fit."""
    return _loaded(settings.PACK_FOLDER, settings.HOUSE_PACK_FOLDER, json.dumps(content))


def refresh() -> None:
    """Forget which edition is in force; called when one has been published, and once it is stored."""
    _newest.forget()


@contextmanager
def as_of_now(*, awaited: bool = False) -> Iterator[None]:
    """Follow, within the block, the newest edition that the database has at this moment.

    Where mains is on nobody waits for a process to look again, nor for what another thread of it
    knows. `awaited`: wait for an edition that is just being published, and let none be published
    until the transaction ends; for mains that comes on. Needs a transaction.
    """
    if awaited:
        HouseEdition.objects.select_for_update().order_by("-version").first()
    token = _held.set(_newest_content())
    try:
        yield
    finally:
        _held.reset(token)


# The edition that a block follows, whatever the process knows; none outside of such a block.
_held: ContextVar[str | None] = ContextVar("held", default=None)


def _newest_content() -> str:
    edition = HouseEdition.objects.exclude(published_at=None).order_by("-version").first()
    return json.dumps(edition.content) if edition and edition.content else ""


class _Newest:
    """The content of the newest published edition, asked of the database every few seconds."""

    def __init__(self) -> None:
        self._known = ""
        self._until = 0.0

    def content(self) -> str:
        if time.monotonic() >= self._until:
            self._known = _newest_content()
            self._until = time.monotonic() + FRESH_SECONDS
        return self._known

    def forget(self) -> None:
        self._until = 0.0


_newest = _Newest()


@lru_cache(maxsize=16)
def _loaded(folder: Path, house: Path | None, own: str) -> Pack:
    return reading_packs.load(folder, house, json.loads(own) if own else None)
