"""The periodic tasks under Celery; the embedded worker calls the same functions."""

from celery import shared_task

from shop.reminders import periodic


@shared_task
def do(name: str) -> int:
    """Run one periodic task now. What it does is in the database: a lost or doubled call changes nothing."""
    return periodic.run(name)
