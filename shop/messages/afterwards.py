"""What is left of a job once its unit is done: the customer is told, the parcel is packed."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q

from shop.customers.models import Intake
from shop.jobs.events.shipped import Shipped
from shop.jobs.next_act import Act, acts
from shop.jobs.record import Record
from shop.messages.models import Message


def tell(record: Record, now: datetime) -> Act | None:
    """A message that a person has to deliver, or that no mail reached, or an open question."""
    by_person = Q(way=Message.HAND) | Q(given_up_at__isnull=False)
    due = Message.objects.filter(by_person, job=record.job, sent_at=None).exists()
    if not (due or record.asked):
        return None
    why = "They asked something." if record.asked else "A message waits for a person."
    return acts.open_page("tell", "Tell the customer", why)


def pack(record: Record, now: datetime) -> Act | None:
    """A unit that came by parcel and has not been sent."""
    by_parcel = Intake.objects.filter(job=record.job, came_by=Intake.PARCEL).exists()
    if not by_parcel or record.of_type(Shipped.event_type):
        return None
    return acts.open_page("pack", "Pack it and send it", "It came by parcel.")
