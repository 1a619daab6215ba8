"""Makes the reminders that are due, once for each level, and clears those that are settled."""

from __future__ import annotations

import logging
from collections.abc import Collection
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.jobs import commands
from shop.jobs.models import Job
from shop.lib import languages, text
from shop.lib.refusals import bad, refuse
from shop.reminders import emails, pushes
from shop.reminders.detectors import DETECTORS, RELEVANT_WHILE, Alert
from shop.reminders.models import Reminder, Snooze
from shop.reminders.policy import TOPICS, next_level_at
from shop.reminders.queries import open_reminders

log = logging.getLogger(__name__)

RETRY_AFTER = timedelta(hours=1)
LONGEST_SNOOZE = timedelta(days=60)


def remind(*, now: datetime) -> int:
    """Look at everything and make the reminders that are due; returns how many are new.

    Run twice, or by two workers at once, it makes one reminder: the row is unique on
    job, key and level, and its e-mails are written in the same transaction. A topic or a job that
    fails is logged and stops nothing else.
    """
    count = 0
    for topic, detect in DETECTORS.items():
        try:
            with languages.of_pages():
                alerts = detect(now)
                _clear_settled(topic, alerts, now)
                count += _create_all(topic, alerts, now)
        except Exception:
            log.exception("the detector of %s failed; it runs again next round", topic)
    return count


def _create_all(topic: str, alerts: list[Alert], now: datetime) -> int:
    last = _latest_reminders(topic, alerts)
    snoozed = _snoozed_jobs(topic, now)
    count = 0
    for alert in alerts:
        if alert.job.pk in snoozed:
            continue
        try:
            count += _create(alert, last.get((alert.job.pk, alert.dedup_key)), now)
        except Exception:
            log.exception("no reminder of job %s could be made; deferred", alert.job.pk)
            commands.defer(alert.job, until=now + RETRY_AFTER)
    return count


def _latest_reminders(topic: str, alerts: list[Alert]) -> dict[tuple[int, str], Reminder]:
    reminders = Reminder.objects.filter(topic=topic, job__in=[alert.job for alert in alerts])
    return {(row.job_id, row.dedup_key): row for row in reminders.order_by("escalation_level")}


def _snoozed_jobs(topic: str, now: datetime) -> set[int]:
    if TOPICS[topic].urgent:
        return set()
    snoozes = Snooze.objects.filter(topic=topic, until__gt=now)
    return set(snoozes.values_list("job_id", flat=True))


def _create(alert: Alert, last: Reminder | None, now: datetime) -> int:
    if last is not None and (last.next_at is None or last.next_at > now):
        return 0
    level = last.escalation_level + 1 if last else 1
    job = alert.job
    try:
        with transaction.atomic():
            reminder = Reminder.objects.create(
                job=job,
                topic=alert.topic,
                dedup_key=alert.dedup_key,
                escalation_level=level,
                sentence=f"{job}: {alert.sentence}"[:400],
                head=job.head,
                made_at=now,
                next_at=next_level_at(alert.topic, job, level, now),
            )
            urgent = TOPICS[alert.topic].urgent
            emails.queue_for_reminder(reminder, urgent=urgent, now=now)
            pushes.queue_for_reminder(reminder, urgent=urgent, now=now)
    except IntegrityError:
        return 0  # another worker made it in this moment
    return 1


def _clear_settled(topic: str, alerts: list[Alert], now: datetime) -> None:
    """Clear what no longer holds."""
    uncleared = Reminder.objects.filter(topic=topic, cleared_at=None)
    if topic == "stalled":
        # The detector leaves out what has a reminder just now, so the state of the job decides.
        settled = uncleared.exclude(RELEVANT_WHILE[topic], job__closed_at=None)
    else:
        settled = uncleared.exclude(dedup_key__in=[alert.dedup_key for alert in alerts])
        settled |= uncleared.exclude(job__in=[alert.job for alert in alerts])
    Reminder.objects.filter(pk__in=list(settled.values_list("pk", flat=True))).update(
        cleared_at=now
    )


def snooze_many(
    keys: Collection[int], *, until: datetime, reason: str, by: User, at: datetime
) -> tuple[int, int]:
    """Snooze what several reminders are about; returns how many, and how many were settled meanwhile.

    Refused, and nothing is snoozed, when one of them is urgent.
    """
    if not keys:
        raise bad("reminder", _("No reminder is ticked; tick those to snooze."))
    still_open = [row for row in open_reminders(at) if row.pk in keys]
    about = {(row.job_id, row.topic): row for row in still_open}
    with transaction.atomic():
        for number, topic in about:
            snooze(number, topic, until=until, reason=reason, by=by, at=at)
    return len(still_open), len(set(keys)) - len(still_open)


def snooze(
    number: int, topic: str, *, until: datetime, reason: str, by: User, at: datetime
) -> Snooze:
    """Snooze one topic of a job, with a reason; Refused for what is urgent."""
    roles.require(by, "note")
    known = TOPICS.get(topic)
    if known is None:
        raise bad(
            "topic",
            _("topic is {topic!r}; it must be one of {these}.").format(
                topic=topic, these=", ".join(TOPICS)
            ),
        )
    if known.urgent:
        raise refuse(
            "urgent", _("{title} cannot be snoozed: take mains off.").format(title=known.title)
        )
    if not at < until <= at + LONGEST_SNOOZE:
        raise bad(
            "until",
            _("until is {until:%Y-%m-%d %H:%M}; it must lie within the next 60 days.").format(
                until=until
            ),
        )
    kept_reason = text.take("reason", reason, 400, needed=True)
    return Snooze.objects.create(
        job=Job.objects.get(pk=number),
        topic=topic,
        until=until,
        reason=kept_reason,
        made_at=at,
        by=by,
    )
