"""Static files at addresses that have the hash of all of them, so that a browser keeps them for good.

All stand under one folder with that hash. So what a style sheet, a script or the service worker
names beside itself is of the same release, and nothing has to be collected before a page is served.
"""

from __future__ import annotations

import hashlib
from functools import cache, cached_property
from pathlib import Path

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import StaticFilesStorage

_BYTES = 8


@cache
def tree_hash() -> str:
    """Return the hash of the names and contents of all static files, as this process found them first."""
    hashed = hashlib.blake2b(digest_size=_BYTES)
    for name, path in sorted(_files().items()):
        hashed.update(f"{name}:{path.stat().st_size}:".encode())
        hashed.update(path.read_bytes())
    return hashed.hexdigest()


def _files() -> dict[str, Path]:
    found: dict[str, Path] = {}
    for finder in finders.get_finders():
        for name, storage in finder.list(None):
            found.setdefault(name.replace("\\", "/"), Path(storage.path(name)))
    return found


class StaticFiles(StaticFilesStorage):
    """Static files that are named with the hash of all of them."""

    def url(self, name: str | None) -> str:
        """Return the address of a file."""
        address = self._addresses.get(name)
        if address is None:
            address = self._addresses[name] = str(super().url(f"{tree_hash()}/{name}"))
        return address

    @cached_property
    def _addresses(self) -> dict[str | None, str]:
        return {}
