"""Letters to the people of the shop: written with their cause, once for each reader and cause."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.utils import timezone

from shop.lib.clock import is_open, open_day, opening_after
from shop.lib.phrases import counted
from shop.messages import mail_queue
from shop.reminders import queries as reminder_queries
from shop.reminders.models import Letter, MailWish, Reminder
from shop.reminders.policy import LAST_TO_OWNERS


def write_for(reminder: Reminder, *, urgent: bool, now: datetime) -> None:
    """Write the letters of a reminder, inside the transaction that makes it.

    By night, and for who wants a digest, urgent ones still go out at once.
    """
    if not settings.MAIL_ON:
        return
    after = now if urgent or is_open(now) else opening_after(now)
    for person in _readers(reminder):
        way = _way(person)
        if way == MailWish.EACH or (urgent and way == MailWish.DIGEST):
            Letter.objects.create(
                person=person, key=f"reminder/{reminder.pk}", reminder=reminder, send_after=after
            )


def _readers(reminder: Reminder) -> list[User]:
    """Return whose hands the job was in; the owners when nobody's, or when it was said often."""
    technician = reminder.job.technician
    mine = [technician] if technician and technician.is_active and technician.email else []
    if mine and reminder.rung < LAST_TO_OWNERS:
        return mine
    owners = User.objects.filter(groups__name="owner", is_active=True).exclude(email="")
    return list({person.pk: person for person in [*mine, *owners]}.values())


def _way(person: User) -> str:
    wish = MailWish.objects.filter(person=person).first()
    return wish.way if wish else MailWish.EACH


def write_digests(*, now: datetime) -> int:
    """Write today's digest for everybody who wants one and has something in it; returns how many.

    Once a day by the shop's calendar, whatever the clocks do: the day is its key.
    """
    here = timezone.localtime(now)
    if not settings.MAIL_ON or here.hour < settings.DIGEST_HOUR or not open_day(here.date()):
        return 0
    key = f"digest/{here:%Y-%m-%d}"
    wishes = MailWish.objects.filter(way=MailWish.DIGEST, person__is_active=True)
    wanting = wishes.exclude(person__email="").exclude(person__letters__key=key)
    made = 0
    for wish in wanting.select_related("person"):
        if reminder_queries.open_reminders(now):
            _, new = Letter.objects.get_or_create(
                person=wish.person, key=key, defaults={"send_after": now}
            )
            made += new
    return made


def deliver(*, now: datetime) -> int:
    """Send the letters that are due; returns how many went out. One that fails waits longer."""
    return mail_queue.deliver(Letter.objects.all(), lambda key: _message(key, now), now=now)


def _message(key: int, now: datetime) -> EmailMessage:
    letter = Letter.objects.select_related("person", "reminder__job").get(pk=key)
    subject, body = _text(letter, now)
    headers = {"Message-ID": mail_queue.message_id(f"{letter.key}/{letter.person_id}")}
    return EmailMessage(subject, body, to=[letter.person.email], headers=headers)


def _text(letter: Letter, now: datetime) -> tuple[str, str]:
    if letter.reminder is None:
        return _digest(now)
    sentence = " ".join(letter.reminder.sentence.split())
    where = f"{settings.ADDRESS}/jobs/{letter.reminder.job_id}/"
    return sentence[:120], f"{letter.reminder.sentence}\n\n{where}\n"


def _digest(now: datetime) -> tuple[str, str]:
    found = reminder_queries.open_reminders(now)
    lines = [f"- {row.sentence}\n  {settings.ADDRESS}/jobs/{row.job_id}/" for row in found]
    count = f"{counted(found, 'thing')} to look at"
    return f"{count}, {timezone.localtime(now):%-d %B}", "\n".join(lines) + "\n"
