"""An estimate went to the customer."""

from __future__ import annotations

from typing import Annotated

from checklists.engine.vocabulary import WORK
from shop.jobs.events import fields
from shop.jobs.events.base import Event, Follower
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record


class EstimateSent(Event):
    """An estimate went to the customer. Without `needs` and `work` it covers all."""

    event_type = "estimate_sent"
    ability = "note"
    followers = frozenset({Follower.PARTS})

    note: fields.Note = ""
    version: fields.Version | None = None
    total: fields.Amount | None = None
    needs: fields.NeedRows | None = None
    work: Annotated[list[str], fields.SomeOf(WORK)] | None = None

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Wait for the answer to this one."""
        record.agreement.answer = "sent"
        record.agreement.sent = row.data
