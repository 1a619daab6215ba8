"""A need was made exact: another description, a part of the list, how many pieces."""

from __future__ import annotations

from django.utils.translation import gettext as _

from shop.jobs.events import fields, stored
from shop.jobs.events.about_needs import NeedEvent, require_part
from shop.jobs.events.base import Transaction
from shop.jobs.needs import Need
from shop.lib.refusals import Refusal, refuse


class PartSpecified(NeedEvent):
    """A need was made exact."""

    event_type = "part_specified"

    new_spec: fields.Spec | None = None
    quantity: fields.Pieces | None = None
    part: fields.PartNumber | None = None

    @classmethod
    def still_to_come(cls, need: Need) -> bool:
        """A need that is fitted stays what it is."""
        return not need.fitted

    def check(self, tx: Transaction) -> list[Refusal]:
        """BadInput for a part that is not in the list."""
        require_part(self.part)
        return super().check(tx)

    def stock_follows(self, tx: Transaction, need: Need) -> None:
        """Refuse to make a need on order or partly here another part, or fewer pieces."""
        other = self.part is not None and self.part != need.part
        at_least = max(need.quantity if need.ordered else 0, need.pieces)
        fewer = (self.quantity or need.quantity) < at_least
        if (need.ordered or need.pieces or need.fitted) and (other or fewer):
            raise refuse(
                "on-order",
                _(
                    "{spec} is ordered or here already. Give the order up first, or note another "
                    "need."
                ).format(spec=need.spec),
            )

    @classmethod
    def change(cls, need: Need, data: stored.Data) -> None:
        """Take what was said anew."""
        need.spec = stored.text(data, "new_spec") or need.spec
        need.quantity = stored.whole(data, "quantity") or need.quantity
        need.part = stored.whole(data, "part") or need.part
