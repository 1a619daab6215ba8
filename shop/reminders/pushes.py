"""Reminders to browsers: the same people and hours as e-mails to them, for whoever asked for it."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.urls import reverse

from shop.lib.clock import is_open, opening_after
from shop.push import services as push
from shop.reminders.models import Reminder
from shop.reminders.policy import OWNERS_FROM_LEVEL


def queue_for_reminder(reminder: Reminder, *, urgent: bool, now: datetime) -> None:
    """Write what the browsers of a reminder's people are told, in the transaction that makes it.

    By night urgent ones alone go out.
    """
    after = now if urgent or is_open(now) else opening_after(now)
    push.queue(
        _recipients(reminder),
        key=f"reminder/{reminder.pk}",
        text=reminder.sentence,
        path=reverse("job", args=[reminder.job_id]),
        urgent=urgent,
        send_after=after,
    )


def _recipients(reminder: Reminder) -> list[User]:
    """Return who had the job last; owners too when nobody who can be told, or from a high level on."""
    technician = reminder.job.technician
    told = [technician] if technician and push.reaches(technician) else []
    if told and reminder.escalation_level < OWNERS_FROM_LEVEL:
        return told
    owners = User.objects.filter(groups__name="owner", is_active=True)
    return list({person.pk: person for person in [*told, *owners]}.values())
