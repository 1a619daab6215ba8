"""A possible cause was raised, ruled out or confirmed, with the evidence."""

from __future__ import annotations

from typing import Annotated

from django import forms
from django.utils.translation import gettext_lazy as _

from checklists import published
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.events.forms import EventForm, choices, note, section
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record

CHANGES = ("raised", "ruled-out", "confirmed")


class SuspectForm(EventForm):
    """A possible cause."""

    title = _("A suspect")
    suspect = forms.CharField(label=_("Possible cause"), max_length=fields.LONGEST_NAME)
    change = forms.ChoiceField(label=_("It is"), choices=choices(CHANGES), initial="raised")
    section = section()
    evidence = note(_("Evidence"))


class SuspectChanged(Event):
    """A possible cause was raised, ruled out or confirmed."""

    event_type = "suspect_changed"
    followers = frozenset({Follower.CAUSES})
    form = SuspectForm

    suspect: fields.Name
    change: Annotated[str, fields.OneOf(CHANGES)] = "raised"
    section: fields.Section = ""
    evidence: fields.Note = ""

    def apply(self, tx: Transaction) -> None:
        """Take the key of a suspect that the pack knows by this title; other names stay."""
        known = {suspect.title: suspect.key for suspect in published.current().suspects}
        self.suspect = known.get(self.suspect, self.suspect)

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep the last word on each."""
        suspect = stored.needed_text(row.data, "suspect")
        record.suspects[suspect] = stored.needed_text(row.data, "change")
