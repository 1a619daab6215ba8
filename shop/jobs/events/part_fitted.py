"""A needed part is in the unit."""

from __future__ import annotations

from checklists.engine import history
from shop.jobs.events import fields, stored
from shop.jobs.events.about_needs import NeedEvent, NeedForm, actor_for
from shop.jobs.events.base import Transaction
from shop.jobs.events.marks import Marked, MarksForm
from shop.jobs.ledger import AnyRow
from shop.jobs.needs import Need
from shop.jobs.record import Record
from shop.lib.refusals import Refusal
from shop.lib.text import spaced
from shop.parts import stock


class FittedForm(MarksForm, NeedForm):
    """The button beside a part that is here, and how it was fitted when not by a hand inside."""


class PartFitted(Marked, NeedEvent):
    """A needed part is in the unit."""

    event_type = "part_fitted"
    ability = "record"
    may_be_repeated = True
    on_paper = True
    form = FittedForm

    section: fields.Section = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """The need, and that a hand may go in, unless a mark says that none does."""
        return [*NeedEvent.check(self, tx), *self.hands_refusals(tx)]

    @classmethod
    def still_to_come(cls, need: Need) -> bool:
        """A need that is not fitted."""
        return not need.fitted

    def stock_follows(self, tx: Transaction, need: Need) -> None:
        """Take what was kept for the need out of its bins."""
        stock.fit(actor_for(tx, need))

    @classmethod
    def change(cls, need: Need, data: stored.Data) -> None:
        """It is fitted."""
        need.fitted = True

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Fit the need; clean trials count from here, whichever part it was."""
        record.repaired(row)
        super().reduce(record, row)

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say where."""
        return cls.happened(row, **cls.marks_of(row))

    @classmethod
    def line(cls, data: stored.Data, record: Record) -> str:
        """Say which part, where, and the note."""
        need = record.needs_by_row.get(stored.whole(data, "need") or 0)
        part = need.spec if need else stored.text(data, "spec") or "a part"
        where = spaced(data.get("section", ""))
        return "; ".join(
            filter(None, [part, where, *cls.marks_in_words(data), stored.text(data, "note")])
        )
