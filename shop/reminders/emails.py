"""E-mails to the people of the shop: written with their cause, once for each recipient and cause."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.utils import timezone
from django.utils.translation import ngettext

from checklists.engine.figures import grouped
from shop.lib import languages, mail_server
from shop.lib.clock import is_open, open_day, opening_after
from shop.messages import mail_queue
from shop.preferences import current as preferences
from shop.reminders import queries as reminder_queries
from shop.reminders.models import EmailPreference, Reminder, StaffEmail
from shop.reminders.policy import OWNERS_FROM_LEVEL


def queue_for_reminder(reminder: Reminder, *, urgent: bool, now: datetime) -> None:
    """Write the e-mails of a reminder, inside the transaction that makes it.

    By night, and for who wants a digest, urgent ones still go out at once.
    """
    if not mail_server.is_on():
        return
    after = now if urgent or is_open(now) else opening_after(now)
    for person in _recipients(reminder):
        way = _preferred_way(person)
        if way == EmailPreference.EACH or (urgent and way == EmailPreference.DIGEST):
            StaffEmail.objects.create(
                person=person, key=f"reminder/{reminder.pk}", reminder=reminder, send_after=after
            )


def _recipients(reminder: Reminder) -> list[User]:
    """Return who had the job last; the owners of the shop when nobody, or from a high level on."""
    technician = reminder.job.technician
    technicians = [technician] if technician and technician.is_active and technician.email else []
    if technicians and reminder.escalation_level < OWNERS_FROM_LEVEL:
        return technicians
    owners = User.objects.filter(groups__name="owner", is_active=True).exclude(email="")
    return list({person.pk: person for person in [*technicians, *owners]}.values())


def _preferred_way(person: User) -> str:
    preference = EmailPreference.objects.filter(person=person).first()
    return preference.way if preference else EmailPreference.EACH


def queue_digests(*, now: datetime) -> int:
    """Write today's digest for everybody who wants one and has something in it; returns how many.

    Once a day by the shop's calendar, whatever the clocks do: the day is its key.
    """
    local_now = timezone.localtime(now)
    if (
        not mail_server.is_on()
        or local_now.hour < preferences.value("digest_hour")
        or not open_day(local_now.date())
    ):
        return 0
    key = f"digest/{local_now:%Y-%m-%d}"
    wishes = EmailPreference.objects.filter(way=EmailPreference.DIGEST, person__is_active=True)
    recipients = wishes.exclude(person__email="").exclude(person__staff_emails__key=key)
    count = 0
    for preference in recipients.select_related("person"):
        if reminder_queries.open_reminders(now):
            _, new = StaffEmail.objects.get_or_create(
                person=preference.person, key=key, defaults={"send_after": now}
            )
            count += new
    return count


def deliver(*, now: datetime) -> int:
    """Send the e-mails that are due; returns how many went out. One that fails waits longer."""
    return mail_queue.deliver(StaffEmail.objects.all(), lambda key: _message(key, now), now=now)


def _message(key: int, now: datetime) -> EmailMessage:
    email = StaffEmail.objects.select_related("person", "reminder__job").get(pk=key)
    with languages.of_pages():
        subject, body = _text(email, now)
    headers = {"Message-ID": mail_queue.message_id(f"{email.key}/{email.person_id}")}
    sender = preferences.value("email_from")
    return EmailMessage(subject, body, sender, [email.person.email], headers=headers)


def _text(email: StaffEmail, now: datetime) -> tuple[str, str]:
    if email.reminder is None:
        return _digest(now)
    sentence = " ".join(email.reminder.sentence.split())
    where = f"{preferences.value('address')}/jobs/{email.reminder.job_id}/"
    return sentence[:120], f"{email.reminder.sentence}\n\n{where}\n"


def _digest(now: datetime) -> tuple[str, str]:
    reminders = reminder_queries.open_reminders(now)
    lines = [
        f"- {reminder.sentence}\n  {preferences.value('address')}/jobs/{reminder.job_id}/"
        for reminder in reminders
    ]
    count = len(reminders)
    words = ngettext("{count} thing to look at, {day}", "{count} things to look at, {day}", count)
    said = words.format(count=grouped(count), day=languages.day_of_year(now))
    return said, "\n".join(lines) + "\n"
