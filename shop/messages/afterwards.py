"""What is left of a job once its unit is done: the customer is told, the parcel is packed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Exists, OuterRef, Q

from shop.customers.models import Intake
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import Job, LedgerRow
from shop.jobs.next_act import Act, acts
from shop.jobs.record import Record
from shop.messages.models import Message

TELL = "Tell the customer"
PACK = "Pack it and send it"
_BY_PERSON = Q(way=Message.HAND) | Q(given_up_at__isnull=False)


def tell(record: Record, now: datetime) -> Act | None:
    """A message that a person has to deliver, or that no mail reached, or an open question."""
    due = Message.objects.filter(_BY_PERSON, job=record.job, sent_at=None).exists()
    if not (due or record.asked):
        return None
    why = "They asked something." if record.asked else "A message waits for a person."
    return acts.open_page("tell", TELL, why)


def to_tell() -> Iterable[int]:
    """Return the closed jobs whose customer has to be told something."""
    due = Message.objects.filter(_BY_PERSON, sent_at=None).values("job")
    closed = Job.objects.filter(closed_at__isnull=False)
    return closed.filter(Q(customer_asked=True) | Q(pk__in=due)).values_list("pk", flat=True)


def pack(record: Record, now: datetime) -> Act | None:
    """A unit that came by parcel and has not been sent."""
    by_parcel = Intake.objects.filter(job=record.job, came_by=Intake.PARCEL).exists()
    if not by_parcel or record.of_type(Shipped.event_type):
        return None
    return acts.open_page("pack", PACK, "It came by parcel.")


def to_pack() -> Iterable[int]:
    """Return the closed jobs whose unit came by parcel and is still in the house."""
    sent = LedgerRow.objects.filter(job=OuterRef("job"), event_type=Shipped.event_type)
    came = Intake.objects.filter(~Exists(sent), came_by=Intake.PARCEL, job__joined_into=None)
    return came.filter(job__closed_at__isnull=False).values_list("job", flat=True)
