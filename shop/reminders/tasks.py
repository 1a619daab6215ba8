"""The periodic tasks under Celery; the embedded worker calls the same functions."""

from celery import shared_task
from django.utils import timezone

from shop.reminders.periodic import PERIODIC_TASKS


@shared_task
def do(name: str) -> int:
    """Run one periodic task now. What it does is in the database: a lost or doubled call changes nothing."""
    return PERIODIC_TASKS[name](now=timezone.now())
