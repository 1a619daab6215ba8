"""The pack that open jobs follow: the shipped folder with the shop's own on top."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from django.conf import settings

from checklists.engine import reading_packs
from checklists.engine.pack import Pack


def pack() -> Pack:
    """Return the published pack, read once per process; PackError when it cannot be used."""
    return _loaded(settings.PACK_FOLDER, settings.HOUSE_PACK_FOLDER)


@lru_cache(maxsize=4)
def _loaded(folder: Path, house: Path | None) -> Pack:
    return reading_packs.load(folder, house)
