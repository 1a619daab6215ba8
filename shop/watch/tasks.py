"""Celery's way to the watch; the embedded worker calls the same functions."""

from celery import shared_task
from django.utils import timezone

from shop.watch import stalled


@shared_task
def remind_of_stalled_jobs() -> int:
    """Make reminders for stalled jobs."""
    return stalled.remind(now=timezone.now())
