"""What home says of addresses that are told no longer."""

from __future__ import annotations

from django.utils.translation import ngettext

from checklists.engine.figures import grouped
from shop.lib.prepared import PreparedRows
from shop.webhooks.models import Endpoint

_OFF = PreparedRows(lambda: Endpoint.objects.exclude(disabled_at=None), columns=["id"])


def disabled_sentence() -> str:
    """Return a sentence about addresses that were switched off; empty when none was."""
    off = len(_OFF())
    words = ngettext(
        "{count} webhook switched off after failing for long.",
        "{count} webhooks switched off after failing for long.",
        off,
    )
    return words.format(count=grouped(off)) if off else ""
