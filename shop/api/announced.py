"""Units that are on their way."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Literal

from django.http import Http404, HttpRequest
from django.utils import timezone
from ninja import Router, Status

from shop.api import schemas, words
from shop.api.app import person
from shop.api.once import Replay, once
from shop.customers import carriers
from shop.customers.announced import queries, services
from shop.customers.announced.models import Announcement
from shop.intake import announcements
from shop.intake import services as intake_services
from shop.jobs import queries as job_queries
from shop.jobs.models import Job

router = Router(tags=["announced"])
MOST = 500


class AnnouncementIn(schemas.Strict):
    """What is known of a unit that is to come; with nothing of the unit, the customer's link asks."""

    make: str | None = None
    model: str | None = None
    serial: str | None = None
    complaint: str | None = None
    name: str | None = None
    email: str | None = None
    phone: str | None = None
    address: str | None = None
    contact_by: str | None = None
    language: str | None = None
    agreed_to_mail: bool | None = None
    carrier: str | None = None
    tracking: str | None = None
    # A day like 2031-03-12; empty takes it away.
    expected_on: date | Literal[""] | None = None


class AnnouncementOut(schemas.Schema):
    """An announcement; `link` is where the customer says what comes, `job` what it became."""

    id: int
    made_at: datetime
    said_at: datetime | None
    by_customer_at: datetime | None
    make: str
    model: str
    serial: str
    complaint: str
    name: str
    email: str
    phone: str
    address: str
    contact_by: str
    language: str
    agreed_to_mail: bool
    carrier: str
    tracking: str
    follow: str
    expected_on: date | None
    job: int | None
    link: str
    link_ends_at: datetime

    @staticmethod
    def resolve_job(row: Announcement) -> int | None:
        """Return the number of the job."""
        return row.job_id

    @staticmethod
    def resolve_follow(row: Announcement) -> str:
        """Return the address that follows the parcel; empty for none."""
        return carriers.follow(row.carrier, row.tracking)

    @staticmethod
    def resolve_link(row: Announcement) -> str:
        """Return the customer's address."""
        return queries.address(row)

    @staticmethod
    def resolve_link_ends_at(row: Announcement) -> datetime:
        """Return until when it works."""
        return row.expires_at


class ArrivedIn(schemas.Strict):
    """What is seen of a unit that was announced, now that it is here."""

    facts: words.Facts = {}
    arrived_open: bool = False
    join: bool = False
    parcel: str = ""
    accessories: str = ""


def _row(key: int) -> Announcement:
    row = Announcement.objects.filter(pk=key).first() if key < 2**63 else None
    if row is None:
        raise Http404(f"There is no announcement {key}.")
    return row


def _again(replay: Replay) -> Announcement:
    return _row(replay.kept)


@router.get("announced/", response={200: list[AnnouncementOut], 403: schemas.Reason})
def listing(request: HttpRequest) -> list[Announcement]:
    """List what is on its way, the day that comes first in front, then the links nobody has filled."""
    person(request, "receive")
    return [*queries.expected()[:MOST], *queries.asked()[:MOST]]


@router.post("announced/", response={201: AnnouncementOut, **schemas.REFUSALS})
@once(kept=lambda row: row.pk, again=_again)
def announce(request: HttpRequest, payload: AnnouncementIn) -> Status[Announcement]:
    """Announce a unit, or make a link in which the customer says what comes."""
    by = person(request, "receive")
    return Status(201, services.announce(payload.model_dump(), by=by, at=timezone.now()))


@router.get("announced/{int:key}/", response={200: AnnouncementOut, **schemas.REFUSALS})
def announcement(request: HttpRequest, key: int) -> Announcement:
    """Return one of them."""
    person(request, "receive")
    return _row(key)


@router.patch("announced/{int:key}/", response={200: AnnouncementOut, **schemas.REFUSALS})
def change(request: HttpRequest, key: int, payload: AnnouncementIn) -> Announcement:
    """Change what is given; the link works anew for its days."""
    by = person(request, "receive")
    return services.change(_row(key).pk, payload.model_dump(), by=by, at=timezone.now())


@router.delete("announced/{int:key}/", response={204: None, **schemas.REFUSALS})
def drop(request: HttpRequest, key: int) -> Status[None]:
    """Take it away: the unit does not come."""
    services.drop(_row(key).pk, by=person(request, "receive"))
    return Status(204, None)


@router.post("announced/{int:key}/receive/", response={201: schemas.JobOut, **schemas.REFUSALS})
@once(
    kept=lambda job: job.number,
    again=lambda replay: job_queries.job(replay.kept, timezone.now()),
)
def receive(request: HttpRequest, key: int, payload: ArrivedIn) -> Status[Job]:
    """Take the unit in with what was announced."""
    by, row = person(request, "receive"), _row(key)
    told = announcements.details_of(row)
    job = intake_services.receive(
        by=by,
        at=timezone.now(),
        details=replace(told, parcel=payload.parcel, accessories=payload.accessories),
        announced=row.pk,
        facts=payload.facts,
        arrived_open=payload.arrived_open,
        join=payload.join,
        **{name: getattr(row, name) for name in services.OF_UNIT},
    )
    return Status(201, job)
