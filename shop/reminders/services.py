"""Says what is to be said, once for each rung, and takes back what has been settled."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from shop.accounts import roles
from shop.jobs import commands
from shop.jobs.models import Job
from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.reminders import emails
from shop.reminders.detectors import FINDERS, STILL, Matter
from shop.reminders.models import Reminder, Snooze
from shop.reminders.policy import TOPICS, next_rung

log = logging.getLogger(__name__)

PUSH_AWAY = timedelta(hours=1)
LONGEST_SNOOZE = timedelta(days=60)


def remind(*, now: datetime) -> int:
    """Look at everything and make the reminders that are due; returns how many are new.

    Run twice, or by two workers at once, it says the same thing once: the row is unique on
    job, cause and rung, and its letters are written in the same transaction. A topic or a job
    that fails is logged and stops nothing else.
    """
    made = 0
    for topic, find in FINDERS.items():
        try:
            matters = find(now)
            _clear(topic, matters, now)
            made += _say_all(topic, matters, now)
        except Exception:
            log.exception("the watch could not look for %s; it tries again next round", topic)
    return made


def _say_all(topic: str, matters: list[Matter], now: datetime) -> int:
    last = _last_said(topic, matters)
    put_off = _put_off(topic, now)
    made = 0
    for matter in matters:
        if matter.job.pk in put_off:
            continue
        try:
            made += _say(matter, last.get((matter.job.pk, matter.cause)), now)
        except Exception:
            log.exception("job %s could not be told of; pushed away", matter.job.pk)
            commands.defer(matter.job, until=now + PUSH_AWAY)
    return made


def _last_said(topic: str, matters: list[Matter]) -> dict[tuple[int, str], Reminder]:
    said = Reminder.objects.filter(topic=topic, job__in=[matter.job for matter in matters])
    return {(row.job_id, row.cause): row for row in said.order_by("rung")}


def _put_off(topic: str, now: datetime) -> set[int]:
    if TOPICS[topic].urgent:
        return set()
    live = Snooze.objects.filter(topic=topic, until__gt=now)
    return set(live.values_list("job_id", flat=True))


def _say(matter: Matter, last: Reminder | None, now: datetime) -> int:
    if last is not None and (last.next_at is None or last.next_at > now):
        return 0
    rung = last.rung + 1 if last else 1
    job = matter.job
    try:
        with transaction.atomic():
            reminder = Reminder.objects.create(
                job=job,
                topic=matter.topic,
                cause=matter.cause,
                rung=rung,
                sentence=f"{job}: {matter.sentence}"[:400],
                head=job.head,
                made_at=now,
                next_at=next_rung(matter.topic, job, rung, now),
            )
            emails.write_for(reminder, urgent=TOPICS[matter.topic].urgent, now=now)
    except IntegrityError:
        return 0  # another worker said it in this moment
    return 1


def _clear(topic: str, matters: list[Matter], now: datetime) -> None:
    """Take back what no longer holds."""
    said = Reminder.objects.filter(topic=topic, cleared_at=None)
    if topic == "stalled":
        # The finder leaves out what was told just now, so the state of the job decides.
        settled = said.exclude(STILL[topic], job__closed_at=None)
    else:
        settled = said.exclude(cause__in=[matter.cause for matter in matters])
        settled |= said.exclude(job__in=[matter.job for matter in matters])
    Reminder.objects.filter(pk__in=list(settled.values_list("pk", flat=True))).update(
        cleared_at=now
    )


def snooze(
    number: int, topic: str, *, until: datetime, reason: str, by: User, at: datetime
) -> Snooze:
    """Put one topic of a job off, with a reason; Refused for what is urgent."""
    roles.require(by, "note")
    known = TOPICS.get(topic)
    if known is None:
        raise bad("topic", f"topic is {topic!r}; it must be one of {', '.join(TOPICS)}.")
    if known.urgent:
        raise refuse("urgent", f"{known.title} cannot be put off: take mains off.")
    if not at < until <= at + LONGEST_SNOOZE:
        raise bad("until", f"until is {until:%Y-%m-%d %H:%M}; it must lie within the next 60 days.")
    kept = text.take("reason", reason, 400, needed=True)
    return Snooze.objects.create(
        job=Job.objects.get(pk=number), topic=topic, until=until, reason=kept, made_at=at, by=by
    )
