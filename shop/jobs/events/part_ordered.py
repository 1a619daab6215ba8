"""A needed part is on order."""

from __future__ import annotations

from shop.jobs.events import fields, stored
from shop.jobs.events.about_needs import NeedEvent
from shop.jobs.needs import Need


class PartOrdered(NeedEvent):
    """A needed part is on order."""

    event_type = "part_ordered"
    may_be_repeated = True

    order: fields.OrderNumber | None = None

    @classmethod
    def still_to_come(cls, need: Need) -> bool:
        """A need that is not on order."""
        return not need.ordered

    @classmethod
    def change(cls, need: Need, data: stored.Data) -> None:
        """It is on order, on that one if one is named."""
        need.ordered, need.order = True, stored.whole(data, "order")
