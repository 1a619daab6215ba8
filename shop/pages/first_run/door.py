"""Who may set up an empty shop: whoever holds the address that the start printed, until somebody has.

Without it anybody on the network could make themselves the owner before the owner comes.
"""

from __future__ import annotations

import hmac
import os
import secrets
from contextlib import suppress
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User

FILE = "first-visit"
LONGEST_TOKEN = 100


def _file() -> Path:
    return Path(settings.DATA) / FILE


def token() -> str:
    """Return what stands in the address, made once and kept for its owner alone in the data folder."""
    with suppress(FileExistsError):
        handle = os.open(_file(), os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(secrets.token_urlsafe(24))
    return _file().read_text(encoding="utf-8").strip()


def opens(given: str) -> bool:
    """Tell whether this is the address of a shop that nobody belongs to yet."""
    if len(given) > LONGEST_TOKEN or User.objects.exists():
        return False
    try:
        kept = _file().read_text(encoding="utf-8").strip()
    except OSError:
        return False
    return bool(kept) and hmac.compare_digest(kept.encode(), given.encode())


def shut() -> None:
    """Let the address open nothing any more."""
    _file().unlink(missing_ok=True)
