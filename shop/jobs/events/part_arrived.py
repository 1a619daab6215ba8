"""Pieces of a needed part are here: out of a parcel, from the bins, or from somewhere else."""

from __future__ import annotations

from typing import Annotated, Any

from django import forms
from django.utils.translation import gettext as _
from pydantic import Field

from shop.jobs.events import fields, stored
from shop.jobs.events.about_needs import NeedEvent, NeedForm, actor_for
from shop.jobs.events.base import Transaction
from shop.jobs.needs import Need
from shop.lib.refusals import bad, refuse
from shop.parts import orders, stock
from shop.parts.models import Part


class ArrivedForm(NeedForm):
    """The buttons "It arrived" and "Take from stock"."""

    quantity = forms.IntegerField(required=False)
    from_stock = forms.BooleanField(required=False)
    bin = forms.CharField(required=False)

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event; what does not come from stock says nothing of it."""
        data = super().data_for_row()
        return data if data.pop("from_stock") is False else data | {"from_stock": True}


class PartArrived(NeedEvent):
    """Pieces of a needed part are here; all that are missing, when no quantity is sentence."""

    event_type = "part_arrived"
    form = ArrivedForm

    quantity: fields.Pieces | None = None
    from_stock: fields.Flag | None = None
    # Where they are put; the record of the stock keeps it.
    bin: Annotated[str, fields.Text(60)] | None = Field(None, exclude=True)

    @classmethod
    def still_to_come(cls, need: Need) -> bool:
        """A need that misses pieces."""
        return not need.arrived

    @classmethod
    def why_not(cls, need: Need) -> str:
        """Say that it is fitted, or here."""
        return (
            super().why_not(need)
            if need.fitted
            else _("{spec} is here already.").format(spec=need.spec)
        )

    def stock_follows(self, tx: Transaction, need: Need) -> None:
        """Take the pieces in and keep them for the need."""
        self.quantity = self.quantity or need.missing
        if not 1 <= self.quantity <= need.missing:
            sentence = _("quantity is {quantity}; {missing} of {spec} are missing.").format(
                quantity=self.quantity, missing=need.missing, spec=need.spec
            )
            raise bad("quantity", sentence)
        if self.from_stock:
            self._from_stock(tx, need, self.quantity)
            return
        number, actor = tx.job.number, actor_for(tx, need)
        orders.receive_for_need(number, need.sequence, self.quantity, actor, self.bin or "")

    def _from_stock(self, tx: Transaction, need: Need, quantity: int) -> None:
        if need.part is None:
            sentence = _("{spec}: say first which part of the stock list this is.").format(
                spec=need.spec
            )
            raise refuse("no-part", sentence)
        orders.drop_allocations(tx.job.number, tx.at, need.sequence)
        stock.reserve(Part.objects.get(pk=need.part), quantity, actor_for(tx, need))

    @classmethod
    def change(cls, need: Need, data: stored.Data) -> None:
        """So many more pieces are here."""
        need.pieces += stored.whole(data, "quantity") or need.missing
