"""A round at the bench is over: the look inside, the search, the work, the mending."""

from __future__ import annotations

from typing import Annotated

from django import forms

from shop.jobs.events import fields
from shop.jobs.events.base import Event
from shop.jobs.events.forms import NoteForm, choices
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record

# ask: for facts; what is not answered is not known yet. see: the complaint need not be
# seen before it is opened. look: all over the inside, and all that was found is written down. search: for the cause. work: all
# of it is done. mend: what failed was put right without work to write down. outside: what failed
# cannot be put right without opening the unit.
ROUNDS = ("ask", "look", "search", "work", "mend", "outside", "see")
_MAY_HAVE_CURED = ("work", "mend")


class RoundForm(NoteForm):
    """The button that ends a round."""

    round = forms.ChoiceField(choices=choices(ROUNDS))


class RoundFinished(Event):
    """A round at the bench is over; nothing more of it is to be written down."""

    event_type = "round_finished"
    by_hands = True
    on_paper = True
    form = RoundForm

    round: Annotated[str, fields.OneOf(ROUNDS)]
    note: fields.Note = ""

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """What was put right may have cured it: clean trials count from here."""
        if row.data.get("round") in _MAY_HAVE_CURED:
            record.repaired(row)
