"""Jobs that nobody moved for longer than their stage's patience."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import Exists, F, OuterRef

from shop.jobs import moves
from shop.jobs.models import Job, LedgerRow
from shop.watch.models import Reminder

log = logging.getLogger(__name__)

BATCH = 500
PUSH_AWAY = timedelta(hours=1)


def remind(*, now: datetime) -> int:
    """Make one reminder for each job past its patience and return how many are new.

    Run twice, or by two workers at once, it says the same thing once: the row is unique on
    job, cause and rung. A job that cannot be looked at is pushed an hour away, logged, and
    does not stop the rest.
    """
    made = 0
    for job in _overdue(now):
        try:
            made += _remind_of(job, now)
        except Exception:
            log.exception("job %s could not be looked at; pushed away", job.number)
            moves.push_away(job, until=now + PUSH_AWAY)
    return made


def _overdue(now: datetime) -> list[Job]:
    said = Reminder.objects.filter(
        job=OuterRef("pk"), cause__startswith="stalled/", made_at__gte=OuterRef("due_at")
    )
    due = Job.objects.filter(~Exists(said), closed_at=None, due_at__lt=now)
    return list(due.select_related("unit").order_by("due_at")[:BATCH])


def _remind_of(job: Job, now: datetime) -> int:
    last = LedgerRow.objects.filter(job=job).order_by("-sequence").first()
    since = last.at if last else job.received_at
    # The head names the visit after which nothing happened: a job that stalls again later
    # is a new cause.
    cause = f"stalled/{job.stage}/{job.head}"
    days = (now - since).days
    age = f"{days} day{'' if days == 1 else 's'}" if days else "some hours"
    sentence = f"{job}: nothing has happened for {age} in stage {str(job.stage).replace('_', ' ')}."
    try:
        with transaction.atomic():
            Reminder.objects.create(job=job, cause=cause, sentence=sentence[:400], made_at=now)
    except IntegrityError:
        return 0
    return 1


def open_reminders() -> list[Reminder]:
    """Return the reminders that still hold: nothing has happened on the job since."""
    still = Reminder.objects.filter(job__closed_at=None, made_at__gte=F("job__due_at"))
    return list(still.select_related("job__unit").order_by("-made_at")[:50])
