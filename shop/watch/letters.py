"""E-mail: written with its cause, sent by whoever claims it, once for each reader and cause.

A worker that is killed leaves a lease that runs out, and the next one sends the letter. Killed
between the mail server's yes and the note of it, the letter goes out again under the same
Message-ID, by which mail systems know it as the same letter.
"""

from __future__ import annotations

import hashlib
import logging
import time
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.db.models import F, Q
from django.utils import timezone

from shop.lib.clock import is_open, open_day, opening_after
from shop.watch import reading
from shop.watch.models import Letter, MailWish, Reminder
from shop.watch.policy import LAST_TO_OWNERS

log = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
MOST_TRIES = 8
MOST_AT_ONCE = 200


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
        if reading.open_reminders(now):
            _, new = Letter.objects.get_or_create(
                person=wish.person, key=key, defaults={"send_after": now}
            )
            made += new
    return made


def deliver(*, now: datetime) -> int:
    """Send the letters that are due; returns how many went out. One that fails waits longer."""
    waiting = Letter.objects.filter(sent_at=None, given_up_at=None, send_after__lte=now)
    keys = list(waiting.order_by("send_after").values_list("pk", flat=True)[:MOST_AT_ONCE])
    started = time.monotonic()
    sent = 0
    for key in keys:
        # The lease runs from this letter's own moment: a slow server must not eat it up.
        moment = now + timedelta(seconds=time.monotonic() - started)
        free = waiting.filter(Q(lease_until=None) | Q(lease_until__lt=moment), pk=key)
        # One conditional UPDATE: of two workers, one gets it.
        if free.update(lease_until=moment + LEASE, tries=F("tries") + 1):
            sent += _send(Letter.objects.select_related("person", "reminder__job").get(pk=key), now)
    return sent


def _send(letter: Letter, now: datetime) -> bool:
    mine = Letter.objects.filter(pk=letter.pk, sent_at=None)
    try:
        subject, body = _text(letter, now)
        _message(letter, subject, body).send()
    except Exception as error:
        log.warning("letter %s could not be sent: %s", letter.pk, error)
        wait = timedelta(minutes=2**letter.tries)
        given_up = now if letter.tries >= MOST_TRIES else None
        said = f"{type(error).__name__}: {error}"[:400]
        mine.update(lease_until=None, send_after=now + wait, given_up_at=given_up, last_error=said)
        return False
    mine.update(sent_at=now, lease_until=None, last_error="")
    return True


def _message(letter: Letter, subject: str, body: str) -> EmailMessage:
    name = hashlib.sha256(f"{settings.SECRET_KEY}/{letter.key}/{letter.person_id}".encode())
    domain = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].strip("> ") or "localhost"
    return EmailMessage(
        subject,
        body,
        to=[letter.person.email],
        headers={"Message-ID": f"<{name.hexdigest()[:40]}@{domain}>"},
    )


def _text(letter: Letter, now: datetime) -> tuple[str, str]:
    if letter.reminder is None:
        return _digest(now)
    sentence = " ".join(letter.reminder.sentence.split())
    where = f"{settings.ADDRESS}/jobs/{letter.reminder.job_id}/"
    return sentence[:120], f"{letter.reminder.sentence}\n\n{where}\n"


def _digest(now: datetime) -> tuple[str, str]:
    found = reading.open_reminders(now)
    lines = [f"- {row.sentence}\n  {settings.ADDRESS}/jobs/{row.job_id}/" for row in found]
    count = f"{len(found)} thing{'' if len(found) == 1 else 's'} to look at"
    return f"{count}, {timezone.localtime(now):%-d %B}", "\n".join(lines) + "\n"
