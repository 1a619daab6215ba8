"""The instrument of a soak on the card: one that may read it, and one that does."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.utils.timezone import localdate

from shop.bench.electrical import soak
from shop.instruments.models import Instrument
from shop.instruments.queries import offers
from shop.jobs import soaking
from shop.jobs.events.soak_reading import SoakReading
from shop.jobs.events.soak_started import SoakStarted
from shop.jobs.next_act import Act
from shop.jobs.queries import Traveller
from shop.meters import soak_logs
from shop.meters.models import SoakLog
from shop.pages.job import going_on

# Each is a button.
_MOST_OFFERED = 2


def on_card(traveller: Traveller, act: Act, now: datetime, by: User | None) -> dict[str, Any]:
    """Return what may read the hottest metal where the act starts a soak; what will, where it is due."""
    if going_on.name_of(act.then or act) == SoakStarted.event_type:
        return {"soak_loggers": _offered(now, by)}
    if act.more.get("kind") == SoakReading.event_type:
        return {"soak_log": _reads_it(traveller, now)}
    return {}


def _offered(now: datetime, by: User | None) -> list[Instrument]:
    found = offers([soaking.MEASURES[soak.SINK]], by=by, on=localdate(now))
    return [one for offer in found for one in offer.for_worker][:_MOST_OFFERED]


def _reads_it(traveller: Traveller, now: datetime) -> SoakLog | None:
    """Return what reads by itself; None where a person has to: nothing does, or it is late or in trouble."""
    run = soaking.soak_of(traveller.record, traveller.checklist)
    if run is None or run.overdue(now):
        return None
    logs = (log for log in soak_logs.of(traveller.job) if log.quantity == soak.SINK)
    return next((log for log in logs if not log.why), None)
