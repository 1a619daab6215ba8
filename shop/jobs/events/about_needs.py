"""Base of the events about one part need of a job: which need is meant, and that its stock follows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from django import forms
from django.utils.translation import gettext as _

from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.jobs.needs import Need
from shop.jobs.record import Record
from shop.lib.refusals import Refusal, bad, refuse
from shop.parts import stock
from shop.parts.models import Part


class NeedForm(EventForm):
    """The buttons beside a need."""

    need = forms.IntegerField(required=False, widget=forms.HiddenInput)


class NeedEvent(Event):
    """Something about one part need: by `need`, by `spec`, or the only one that it can be."""

    ability = "note"
    followers = frozenset({Follower.PARTS})
    form = NeedForm
    # Whether it may be said of a need that has it behind it; else it would undo or double something.
    may_be_repeated: ClassVar[bool] = False

    need: fields.NeedRow | None = None
    spec: fields.Spec | None = None
    note: fields.Note = ""

    @classmethod
    def still_to_come(cls, need: Need) -> bool:
        """Whether it can still be said of a need."""
        raise NotImplementedError

    @classmethod
    def why_not(cls, need: Need) -> str:
        """Say why it can no longer be said of a need."""
        return _("{spec} is fitted already.").format(spec=need.spec)

    def stock_follows(self, tx: Transaction, need: Need) -> None:
        """Move pieces and orders as it says."""

    @classmethod
    def change(cls, need: Need, data: stored.Data) -> None:
        """Change the need as a row says."""
        raise NotImplementedError

    def check(self, tx: Transaction) -> list[Refusal]:
        """Look for the need; BadInput when none or several can be meant."""
        self.need_in(tx.record)
        return []

    def apply(self, tx: Transaction) -> None:
        """Name the need by its row, and let stock and orders follow."""
        need = self.need_in(tx.record)
        self.need = need.sequence
        self.stock_follows(tx, need)

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Change the need that the row speaks of."""
        need = record.needs_by_row.get(stored.whole(row.data, "need") or 0)
        if need is not None:
            cls.change(need, row.data)

    def need_in(self, record: Record) -> Need:
        """Return the need that is meant; BadInput or Refused with a sentence when there is none."""
        if self.need is not None:
            return self._numbered(record.needs_by_row, self.need)
        needs = [need for need in record.needs if not self.spec or need.spec == self.spec]
        if self.spec and not needs:
            raise bad(
                "spec",
                _("spec is {spec!r}; this job has no part need of that spec.").format(
                    spec=self.spec
                ),
            )
        left = [need for need in needs if self.still_to_come(need)]
        if not left:
            participle = self.event_type.removeprefix("part_")
            raise refuse(
                "no-need",
                _("No part need of this job is still to be {participle}.").format(
                    participle=participle
                ),
            )
        if len(left) > 1 and not self.spec:
            numbers = ", ".join(f"{need.sequence} ({need.spec})" for need in left)
            raise bad(
                "need",
                _("need is missing; this job has several: {numbers}.").format(numbers=numbers),
            )
        return left[0]

    def _numbered(self, needs: Mapping[int, Need], number: int) -> Need:
        need = needs.get(number)
        if need is None:
            raise bad(
                "need",
                _("need is {number}; this job has no part need of that number.").format(
                    number=number
                ),
            )
        if not self.may_be_repeated and not self.still_to_come(need):
            raise refuse("no-need", self.why_not(need))
        return need


def actor_for(tx: Transaction, need: Need) -> stock.StockActor:
    """Return who moves pieces for the need."""
    return stock.StockActor(tx.by, tx.at, tx.job.number, need.sequence)


def require_part(number: int | None) -> None:
    """BadInput when a row names a part that is not in the list."""
    if number is not None and not Part.objects.filter(pk=number).exists():
        raise bad(
            "part", _("part is {number}; there is no part of that number.").format(number=number)
        )
