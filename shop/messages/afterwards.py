"""What is left of a job once its unit is done: the customer is told, the parcel is packed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import cache

from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from shop.customers.models import Intake
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import Job, LedgerRow
from shop.jobs.next_act import Act, acts
from shop.jobs.record import Record
from shop.lib.prepared import PreparedRows
from shop.messages.models import Message

TELL = gettext_noop("Tell the customer")
PACK = gettext_noop("Pack it and send it")
_BY_PERSON = Q(way=Message.HAND) | Q(given_up_at__isnull=False)


def tell(record: Record, now: datetime) -> Act | None:
    """A message that a person has to deliver, or that no mail reached, or an open question."""
    due = Message.objects.filter(_BY_PERSON, job=record.job, sent_at=None).exists()
    if not (due or record.asked):
        return None
    why = _("They asked something.") if record.asked else _("A message waits for a person.")
    return acts.open_page("tell", TELL, why)


def to_tell(most: int) -> Iterable[int]:
    """Return closed jobs whose customer has to be told something."""
    # Two queries: with OR between them every closed job is read.
    for numbers in (_asked(most)(), _due(most)()):
        yield from (number for (number,) in numbers)


@cache
def _asked(most: int) -> PreparedRows:
    asked = Job.objects.filter(closed_at__isnull=False, customer_asked=True).order_by("pk")
    return PreparedRows(lambda: asked[:most], columns=["number"])


@cache
def _due(most: int) -> PreparedRows:
    due = Message.objects.filter(_BY_PERSON, sent_at=None, job__closed_at__isnull=False)
    return PreparedRows(lambda: due.distinct().order_by("job")[:most], columns=["job_id"])


def pack(record: Record, now: datetime) -> Act | None:
    """A unit that came by parcel and has not been sent."""
    by_parcel = Intake.objects.filter(job=record.job, came_by=Intake.PARCEL).exists()
    if not by_parcel or record.of_type(Shipped.event_type):
        return None
    return acts.open_page("pack", PACK, _("It came by parcel."))


def to_pack(most: int) -> Iterable[int]:
    """Return closed jobs whose unit came by parcel and is still in the house."""
    return [number for (number,) in _unsent(most)()]


@cache
def _unsent(most: int) -> PreparedRows:
    sent = LedgerRow.objects.filter(job=OuterRef("job"), event_type=Shipped.event_type)
    gone = Job.objects.filter(pk=OuterRef("job"), closed_at__isnull=False, joined_into=None)
    # By EXISTS from the parcels: with a join SQLite begins with every closed job.
    left = Intake.objects.filter(Exists(gone), ~Exists(sent), came_by=Intake.PARCEL)
    return PreparedRows(lambda: left.order_by("pk")[:most], columns=["job_id"])
