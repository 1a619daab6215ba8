"""Celery's way to the watch; the embedded worker calls the same functions."""

from celery import shared_task
from django.utils import timezone

from shop.reminders.periodic import DUTIES


@shared_task
def do(duty: str) -> int:
    """Do one duty now. What it does is in the database: a lost or doubled call changes nothing."""
    return DUTIES[duty](now=timezone.now())
