"""Celery's way to the watch; the embedded worker calls the same functions."""

from celery import shared_task
from django.utils import timezone

from shop.watch import editions, stalled


@shared_task
def remind_of_stalled_jobs() -> int:
    """Make reminders for stalled jobs."""
    return stalled.remind(now=timezone.now())


@shared_task
def follow_the_published_pack() -> int:
    """Bring open jobs up to the published pack."""
    return editions.follow(now=timezone.now())
