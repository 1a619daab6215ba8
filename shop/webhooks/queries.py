"""What home says of addresses that are told no longer."""

from __future__ import annotations

from shop.lib.phrases import counted
from shop.lib.prepared import PreparedRows
from shop.webhooks.models import Endpoint

_OFF = PreparedRows(lambda: Endpoint.objects.exclude(disabled_at=None), columns=["id"])


def disabled_sentence() -> str:
    """Return a sentence about addresses that were switched off; empty when none was."""
    off = len(_OFF())
    return f"{counted(off, 'webhook')} switched off after failing for long." if off else ""
