"""What the customer reads: where the unit is, in words that need no bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from shop.customers import stations
from shop.customers.stations import Station
from shop.estimates import services as estimates
from shop.estimates.services import SentEstimate
from shop.jobs import queries
from shop.jobs.agreed import Question
from shop.jobs.events.shipped import Shipped
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.photos import services as photos
from shop.photos.models import Photo
from shop.planning.forecasting import Forecaster


@dataclass(frozen=True)
class Shown:
    """All that a link shows, of one job alone."""

    job: Job
    words: str
    stations: Sequence[Station]
    shipment: AnyRow | None
    forecast: str
    promised_on: date | None
    estimate: SentEstimate | None
    open_estimate: bool
    questions: Sequence[Question]
    photos: Sequence[Photo]


def shown(job: Job, now: datetime) -> Shown:
    """Return what the customer of this job reads at `now`."""
    record = queries.record_of(job)
    sent = estimates.sent_estimates(record)
    last = sent[0] if sent else None
    is_open = last is not None and last.answer in ("sent", "question") and not job.closed
    return Shown(
        job=job,
        words=stations.words(job),
        stations=stations.stations(job, record),
        shipment=next(reversed(record.of_type(Shipped.event_type)), None),
        forecast=_forecast(job, record, now),
        promised_on=None if job.closed else job.promised_on,
        estimate=last,
        open_estimate=is_open,
        questions=record.questions,
        photos=[photo for photo in photos.photos_of_job(job) if photo.visible_to_customer],
    )


def _forecast(job: Job, record: Record, now: datetime) -> str:
    """Return when it will be ready, as a range; nothing is promised for a unit that waits on its customer."""
    if job.closed or record.estimate == "sent":
        return ""
    sentence = Forecaster(now, [job]).finish(job).sentence
    if not sentence:
        return _("We cannot tell yet when it will be ready.")
    no_promise = _("That follows from our earlier repairs; it is no promise.")
    return f"{sentence} {no_promise}"
