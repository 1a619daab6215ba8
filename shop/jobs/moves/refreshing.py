"""Bringing a job up to the pack that is published now."""

from __future__ import annotations

from datetime import datetime

from checklists import published
from shop.jobs.moves.visit import visit


def refresh(number: int, *, at: datetime) -> bool:
    """Derive the job under the published pack; returns whether it was behind.

    The patience of the job runs on: a new pack is nobody's work on it. A permit that no longer stands under the new rules falls, as with any other change.
    """
    with visit(number, by=None, at=at) as here:
        behind = here.job.pack_digest != published.pack().digest
        if behind:
            here.changed("pack_digest")
    return behind
