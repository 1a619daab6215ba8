"""What the customer reads: where the unit is, in words that need no bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from shop.estimates import services as estimates
from shop.estimates.services import SentEstimate
from shop.jobs import queries
from shop.jobs.agreed import Question
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.jobs.stages import Stage, Waiting
from shop.photos import services as photos
from shop.photos.models import Photo
from shop.planning.forecasting import Forecaster

STATIONS = (
    (Stage.RECEIVED, "Received", "It is here. It has not been on the bench yet."),
    (
        Stage.REPRODUCING,
        "Looked at",
        "We are making the fault show itself, so that we cure the right thing.",
    ),
    (Stage.OPENED, "On the bench", "It is open on the bench."),
    (Stage.AWAITING_PARTS, "Waiting for parts", "It is on the shelf until its parts are here."),
    (Stage.REASSEMBLED, "Together again", "The work is done; it is being set up and measured."),
    (
        Stage.SOAKING,
        "On its long run",
        "It runs for hours under our eyes, to prove that the fault is gone.",
    ),
    (Stage.RELEASED, "Released", "It is repaired, tested and has left the bench."),
)
WITHDRAWN = "It goes back as it is, unrepaired. Do not plug it in."
_WAITS: dict[str, str] = {
    Waiting.CUSTOMER: "It waits for your answer to the estimate.",
    Waiting.PARTS: "It waits for parts.",
    Waiting.SOAK_CLOCK: "It waits for the hours of its long run to pass.",
    Waiting.HANDS: "It waits for its turn at the bench.",
    Waiting.NOBODY: "It waits for its turn at the bench.",
}


@dataclass(frozen=True)
class Station:
    """One stop on the way: `state` is done, here or ahead."""

    title: str
    state: str


@dataclass(frozen=True)
class Shown:
    """All that a link shows, of one job alone."""

    job: Job
    words: str
    waits: str
    stations: Sequence[Station]
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
        words=_words(job),
        waits="" if job.closed else _WAITS.get(job.waiting_on, ""),
        stations=_stations(job),
        forecast=_forecast(job, record, now),
        promised_on=None if job.closed else job.promised_on,
        estimate=last,
        open_estimate=is_open,
        questions=record.questions,
        photos=[photo for photo in photos.photos_of_job(job) if photo.visible_to_customer],
    )


def _words(job: Job) -> str:
    told = {stage.value: words for stage, _, words in STATIONS}
    return told.get(str(job.stage), WITHDRAWN)


def _stations(job: Job) -> list[Station]:
    """Return the way with where it is; the shelf is drawn only for a unit that lies on it."""
    if job.stage == Stage.WITHDRAWN:
        return []
    way = [one for one in STATIONS if one[0] != Stage.AWAITING_PARTS or job.stage == one[0]]
    here = [stage for stage, _, _ in way].index(Stage(job.stage))
    states = ["done"] * here + ["here"] + ["ahead"] * len(way)
    return [Station(title, states[place]) for place, (_, title, _) in enumerate(way)]


def _forecast(job: Job, record: Record, now: datetime) -> str:
    """Return when it will be ready, as a range; nothing is promised for a unit that waits on its customer."""
    if job.closed or record.estimate == "sent":
        return ""
    found = Forecaster(now, [job]).finish(job)
    if found.half is None:
        return "We cannot tell yet when it will be ready."
    return f"It will probably be {found.words}. That is reckoned from our earlier repairs, not promised."
