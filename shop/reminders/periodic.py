"""What the worker does, round after round: the same embedded and under Celery."""

from __future__ import annotations

from collections.abc import Callable

from django.utils import timezone

from shop.accounts import sign_in_log
from shop.bills import mailing
from shop.instruments import answering, asking
from shop.intake import picture_drafts
from shop.messages import composing, sending
from shop.meters import soak_logs
from shop.preferences import current as preferences
from shop.push import sending as push
from shop.reminders import customer_notices, emails, rule_updates, services
from shop.reminders.further_tasks import FURTHER_TASKS
from shop.search import indexing

PERIODIC_TASKS: dict[str, Callable[..., int]] = {
    "follow-rules": rule_updates.follow,
    "remind": services.remind,
    "write-digests": emails.queue_digests,
    "send-reminders": emails.deliver,
    "send-push": push.deliver,
    "write-messages": composing.queue_due,
    "write-parts-late": customer_notices.queue_parts_late,
    "remind-payments": mailing.remind_by_itself,
    "send-messages": sending.deliver,
    "update-index": indexing.index_changed_jobs,
    "purge-sign-ins": sign_in_log.purge,
    "purge-picture-drafts": picture_drafts.purge,
    asking.TASK: answering.answer_waiting,
    soak_logs.TASK: soak_logs.log_soaks,
    **FURTHER_TASKS,
}


def run(name: str) -> int:
    """Do one of them now, by the settings and in the time zone that the shop has now."""
    preferences.forget()
    with timezone.override(preferences.zone()):
        return PERIODIC_TASKS[name](now=timezone.now())
