"""What was ordered does not come, or went back: the need is not on order again."""

from __future__ import annotations

from typing import Annotated

from django import forms
from django.utils.translation import gettext as _

from shop.jobs.events import fields, stored
from shop.jobs.events.about_needs import NeedEvent, NeedForm, actor_for
from shop.jobs.events.base import Transaction
from shop.jobs.events.forms import choices
from shop.jobs.needs import Need
from shop.parts import orders, stock

SENT_BACK = "sent-back"
REASONS = ("lost", "wrong", "cancelled", SENT_BACK)


class LostForm(NeedForm):
    """The buttons "It is lost" and "Sent back"."""

    why = forms.ChoiceField(choices=choices(REASONS))


class PartLost(NeedEvent):
    """What was ordered does not come, or went back."""

    event_type = "part_lost"
    form = LostForm

    why: Annotated[str, fields.OneOf(REASONS)]

    @classmethod
    def still_to_come(cls, need: Need) -> bool:
        """A need that is on order."""
        return need.ordered and not need.fitted

    @classmethod
    def why_not(cls, need: Need) -> str:
        """Say that it is fitted, or not on order."""
        return (
            super().why_not(need)
            if need.fitted
            else _("{spec} is not on order.").format(spec=need.spec)
        )

    def stock_follows(self, tx: Transaction, need: Need) -> None:
        """Wait for the order no longer; what goes back leaves its bin."""
        orders.drop_allocations(tx.job.number, tx.at, need.sequence)
        if self.why == SENT_BACK:
            stock.send_back(actor_for(tx, need))

    @classmethod
    def change(cls, need: Need, data: stored.Data) -> None:
        """It is not on order; what went back is not here."""
        need.ordered, need.order = False, None
        if data.get("why") == SENT_BACK:
            need.pieces = 0
