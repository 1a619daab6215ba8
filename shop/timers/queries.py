"""What clocks run, how long they still have, and the minutes of labour they counted."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from checklists.engine.checklist import Checklist
from shop.jobs import soaking
from shop.jobs.events.work_done import WorkDone
from shop.jobs.models import Job, LedgerRow
from shop.jobs.queries import Traveller
from shop.jobs.record import Record
from shop.lib.prepared import Prepared
from shop.timers.models import Timer

# A labour clock beyond this was forgotten: its minutes are asked, and never offered.
FORGOTTEN_AFTER = timedelta(hours=4)


@dataclass(frozen=True, kw_only=True)
class Clock:
    """A clock as it stands now; without `ends_at` it counts up. The soak's is no timer: it follows the ledger."""

    job: Job
    title: str
    started_at: datetime
    ends_at: datetime | None
    now: datetime
    timer: Timer | None = None

    @property
    def seconds(self) -> int:
        """Seconds still to run, below 0 when it is over; without an end the seconds that ran."""
        ends = self.ends_at
        return int(((ends - self.now) if ends else (self.now - self.started_at)).total_seconds())

    @property
    def over(self) -> bool:
        """Whether its time is up."""
        return self.ends_at is not None and self.seconds <= 0

    @property
    def forgotten(self) -> bool:
        """Whether labour has run for so long that somebody has to say what of it was work."""
        return self.ends_at is None and self.now - self.started_at > FORGOTTEN_AFTER

    @property
    def shown(self) -> str:
        """The time as 1:05:09 or 5:09, with a + when it is over."""
        hours, rest = divmod(abs(self.seconds), 3600)
        minutes, seconds = divmod(rest, 60)
        said = f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}"
        return f"+{said}" if self.over else said


def _running() -> QuerySet[Timer]:
    return Timer.objects.filter(stopped_at=None, job__closed_at=None)


_WITH: dict[str, Any] = {"related": ("job", "job__unit", "by")}
_RUNNING = Prepared(_running, **_WITH)
_RUNNING_OF = Prepared(lambda number: _running().filter(job=number), int, **_WITH)


def clocks(now: datetime, job: Job | None = None) -> list[Clock]:
    """Return the clocks that run, of one job or of every open one, the next to ring first."""
    running = _RUNNING() if job is None else _RUNNING_OF(job.number)
    return in_order([_clock(timer, now) for timer in running])


def clocks_of(traveller: Traveller, now: datetime) -> list[Clock]:
    """Return the clocks of a job, with that of its soak."""
    soak = soak_clock(traveller.record, traveller.checklist, now)
    return in_order([*clocks(now, traveller.job), *([soak] if soak else [])])


def mark(standing: list[Clock]) -> str:
    """Return a short mark of which clocks run until when, to tell whether that has changed."""
    shown = [(clock.title, clock.started_at, clock.ends_at) for clock in standing]
    return hashlib.sha256(repr(shown).encode()).hexdigest()[:12]


def in_order(standing: list[Clock]) -> list[Clock]:
    """Return them with the next to ring first, and what counts up last."""
    return sorted(standing, key=lambda clock: (clock.ends_at is None, clock.seconds))


def _clock(timer: Timer, now: datetime) -> Clock:
    whose = f" of {timer.by.get_username()}" if timer.kind == Timer.LABOUR else ""
    return Clock(
        job=timer.job,
        title=f"{timer.get_kind_display()}{whose}",
        started_at=timer.started_at,
        ends_at=timer.ends_at,
        now=now,
        timer=timer,
    )


def soak_clock(record: Record, checklist: Checklist, now: datetime) -> Clock | None:
    """Return the clock to the next reading of the soak that runs, or to its end; None when none runs."""
    run = soaking.soak_of(record, checklist)
    if run is None or run.state != "running":
        return None
    due, start = run.next_due(now), run.run.started_at
    title, ends = (_("soak, next reading"), due) if due else (_("soak"), None)
    ends = ends or start + timedelta(hours=run.plan.hours)
    return Clock(job=record.job, title=title, started_at=start, ends_at=ends, now=now)


def labour_minutes(job: Job, by: User, now: datetime) -> int | None:
    """Return the whole minutes of labour since this person's last entry of work; None: nothing to offer.

    A clock that was forgotten offers nothing.
    """
    since = _last_work(job, by)
    timers = Timer.objects.filter(job=job, by=by, kind=Timer.LABOUR)
    if since is not None:
        timers = timers.exclude(stopped_at__lte=since)
    spans = [
        (timer.stopped_at or now) - max(timer.started_at, since or timer.started_at)
        for timer in timers
    ]
    if any(span > FORGOTTEN_AFTER for span in spans):
        return None
    return round(sum(span.total_seconds() for span in spans) / 60) or None


def _last_work(job: Job, by: User) -> datetime | None:
    rows = LedgerRow.objects.filter(job=job, by=by, event_type=WorkDone.event_type)
    last = rows.order_by("-sequence").first()
    return last.at if last else None
