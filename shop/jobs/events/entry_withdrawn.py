"""An entry was wrong and is withdrawn: it counts no longer, and gives nothing back."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from pydantic import Field, Strict

from checklists.engine import history
from checklists.engine.history import WITHDRAWABLE
from shop.jobs import guards
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.lib.refusals import Refusal, bad
from shop.lib.text import spaced

COMPLAINT = "complaint_recorded"


class WithdrawalForm(EventForm):
    """An entry that was wrong."""

    title = _("An entry that was wrong")
    row = forms.IntegerField(label=_("Row"), min_value=1)
    reason = forms.CharField(label=_("What was wrong"), widget=forms.Textarea(attrs={"rows": 2}))


class EntryWithdrawn(Event):
    """An entry is withdrawn. What it raised stays up until somebody has looked again."""

    event_type = "entry_withdrawn"
    by_hands = True
    on_paper = True
    filled_in = frozenset({"was"})
    followers = frozenset({Follower.CAUSES, Follower.READINGS})
    form = WithdrawalForm

    row: Annotated[
        int,
        Strict(),
        Field(gt=0, lt=10**9, description="The sequence of the row that was wrong."),
        fields.Wanted("it must be the sequence of a row of this job"),
    ]
    reason: fields.Words
    # The type of the row.
    was: str | None = None

    def check(self, tx: Transaction) -> list[Refusal]:
        """That there is such a row, of a type that can be withdrawn, and that it still counts."""
        entry = self._entry(tx)
        if entry.event_type not in WITHDRAWABLE:
            what = spaced(entry.event_type)
            return [
                _not_withdrawable(
                    gettext("Row {row} ({what}) cannot be withdrawn.").format(
                        row=self.row, what=what
                    )
                )
            ]
        if self.row in tx.record.withdrawn:
            return [
                _not_withdrawable(gettext("Row {row} is withdrawn already.").format(row=self.row))
            ]
        return guards.against_correcting(tx.job)

    def apply(self, tx: Transaction) -> None:
        """Note the type; a complaint gives way to the one before it."""
        self.was = self._entry(tx).event_type
        if self.was == COMPLAINT:
            left = [text for row, text in tx.record.complaints if row != self.row]
            tx.job.complaint = left[-1] if left else ""
            tx.changed("complaint")

    def _entry(self, tx: Transaction) -> AnyRow:
        for row in tx.record.rows:
            if row.sequence == self.row:
                return row
        raise bad("row", gettext("row is {row}; this job has no such row.").format(row=self.row))

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say which row; one that does not tell it could have been any."""
        withdrawn = stored.whole(row.data, "row")
        if withdrawn is None:
            raise ValueError("row is no number")
        return replace(cls.happened(row), row=withdrawn)

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say which row, of which type, and what was wrong."""
        said = f"row {data['row']} withdrawn: {spaced(stored.text(data, 'was'))}"
        return [said, *filter(None, [stored.text(data, "reason")])]


def _not_withdrawable(sentence: str) -> Refusal:
    return Refusal("not-withdrawable", sentence)
