"""What home says of addresses that are told no longer."""

from __future__ import annotations

from shop.lib.phrases import counted
from shop.webhooks.models import Endpoint


def disabled_sentence() -> str:
    """Return a sentence about addresses that were switched off; empty when none was."""
    off = Endpoint.objects.exclude(disabled_at=None).count()
    return f"{counted(off, 'webhook')} switched off after failing for long." if off else ""
