"""Writing down what was found, tried, done, needed, measured and photographed."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.accounts import roles
from shop.jobs import events
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.events.photo_added import PhotoAdded
from shop.jobs.models import Job, LedgerRow
from shop.lib.refusals import refuse


def record(
    number: int,
    event_type: str,
    data: Any,
    *,
    by: User,
    at: datetime,
    seen: int | None = None,
) -> LedgerRow:
    """Append an event of a type that people write and return its row.

    Recording is never refused because mains is on; a permit that falls by it takes the power
    with it. BadInput for bad data, Refused when the job cannot take the event now. `seen` (newest
    ledger row on the writer's page) guards an entry that was typed long before it is sent.
    """
    event = events.read(event_type, data)
    roles.require(by, event.ability)
    with job_transaction(number, by=by, at=at) as tx:
        if seen is not None and seen != tx.job.head:
            raise refuse("stale", _overtaken(tx.job, seen))
        return tx.write(event)


def _overtaken(job: Job, seen: int) -> str:
    more = job.head - seen if 0 < seen < job.head else 0
    rows = ngettext("{count} row", "{count} rows", more).format(count=more) if more else _("more")
    return _(
        "Since this was typed, {rows} came into the record of job {number}. Look at it, then send this again."
    ).format(rows=rows, number=job.number)


def add_photo(number: int, about: dict[str, Any], *, by: User, at: datetime) -> LedgerRow:
    """Note a picture: what it shows and the SHA-256 by which it can be told; also when closed."""
    roles.require(by, PhotoAdded.ability)
    with job_transaction(number, by=by, at=at) as tx:
        return tx.write(PhotoAdded.model_validate(about))
