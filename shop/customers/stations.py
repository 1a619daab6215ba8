"""What a customer is told of each stage, and the line of stations with the unit's place on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.jobs.stages import Stage, Waiting

TITLES: dict[Stage, str | Promise] = {
    Stage.RECEIVED: _("Received"),
    Stage.REPRODUCING: _("Looked at"),
    Stage.OPENED: _("On the bench"),
    Stage.AWAITING_PARTS: _("Waiting for parts"),
    Stage.REASSEMBLED: _("Together again"),
    Stage.SOAKING: _("Long test run"),
    Stage.RELEASED: _("Repaired and tested"),
}
_WORDS: dict[Stage, str | Promise] = {
    Stage.RECEIVED: _("It is here, and waits for its turn at the bench."),
    Stage.REPRODUCING: _("We are making the fault show itself, so that we repair the right thing."),
    Stage.OPENED: _("It is open on the bench. We are looking for the cause and repairing it."),
    Stage.AWAITING_PARTS: _("It is on the shelf until its parts are here."),
    Stage.REASSEMBLED: _("It is together again. We are setting it up and measuring it."),
    Stage.SOAKING: _("It runs for hours while we measure, to show that the fault is gone."),
    Stage.RELEASED: _("It is repaired and tested."),
    Stage.WITHDRAWN: _("It goes back as it is, unrepaired. Do not plug it in."),
}
# Where what it waits on says something else than the stage alone.
_WAITING: dict[tuple[Stage, str], str | Promise] = {
    (Stage.AWAITING_PARTS, Waiting.HANDS): _("Its parts are here. Its repair goes on next."),
    (Stage.SOAKING, Waiting.HANDS): _("Its long test run is next, then the last tests."),
}
_FOR_ANSWER = _("We have looked at it, and would like your answer to the estimate.")


@dataclass(frozen=True)
class Station:
    """One stop on the way: `state` is done, here or ahead; `day` is when it came there."""

    title: str
    state: str
    day: date | None = None


def words(job: Job) -> str:
    """Return where the unit is, in words that need no bench."""
    stage = Stage(job.stage)
    if job.waiting_on == Waiting.CUSTOMER and not job.closed:
        return str(_FOR_ANSWER)
    waiting = Waiting.HANDS if job.waiting_on == Waiting.NOBODY else job.waiting_on
    return str(_WAITING.get((stage, waiting), _WORDS[stage]))


def stations(job: Job, record: Record) -> list[Station]:
    """Return the way with where it is; the shelf is drawn only for a unit that lies on it."""
    stage = Stage(job.stage)
    if stage == Stage.WITHDRAWN:
        return []
    way = [one for one in TITLES if one != Stage.AWAITING_PARTS or one == stage]
    here = way.index(stage)
    days = _days(job, record)
    return [
        Station(str(TITLES[one]), _state(place, here), days.get(one) if place <= here else None)
        for place, one in enumerate(way)
    ]


def _state(place: int, here: int) -> str:
    return "here" if place == here else "done" if place < here else "ahead"


def _days(job: Job, record: Record) -> Mapping[str, date]:
    """Return the day on which the unit came to each stage last."""
    days = {Stage.RECEIVED.value: timezone.localdate(job.received_at)}
    for row in record.of_type("stage_changed"):
        days[str(row.data.get("to", ""))] = timezone.localdate(row.at)
    return days
