"""Messages leave the house: by e-mail when their time has come, by hand when somebody says so."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import override

from shop.accounts import roles
from shop.customers.languages import language_of
from shop.customers.models import Customer
from shop.jobs import commands
from shop.lib.refusals import refuse
from shop.messages import attachments, mail_queue
from shop.messages.models import Message
from shop.preferences import current as preferences


def deliver(*, now: datetime) -> int:
    """Send the e-mails that are due; returns how many went out. Each is noted in its ledger."""
    mails = Message.objects.filter(way=Message.EMAIL)
    return mail_queue.deliver(mails, _email, now=now, sent=lambda key: _record_sent(key, now))


def _email(key: int) -> EmailMultiAlternatives:
    message = Message.objects.select_related("customer").get(pk=key)
    mail = EmailMultiAlternatives(
        message.subject,
        message.text,
        preferences.value("email_from"),
        [message.customer.email],
        headers={"Message-ID": mail_queue.message_id(f"message/{message.job_id}/{message.key}")},
    )
    html = as_html(message.text, language_of(message.customer))
    mail.attach_alternative(html, "text/html")
    for file in attachments.of(message):
        mail.attach(*file)
    return mail


def as_html(text: str, language: str = "en") -> str:
    """Return the same words as HTML: nothing of them is markup, and addresses can be clicked."""
    return render_to_string("messages/mail.html", {"text": text, "language": language})


def _record_sent(key: int, now: datetime) -> None:
    message = Message.objects.get(pk=key)
    commands.record_customer_told(message.job_id, message.about, way="e-mail", at=now)


@transaction.atomic
def mark_done(message: Message, *, by: User, at: datetime) -> None:
    """Note that a person has told the customer; Refused when that was noted already."""
    roles.require(by, "note")
    unsent = Message.objects.filter(pk=message.pk, sent_at=None)
    if not unsent.update(sent_at=at, given_up_at=None):
        raise refuse("told", _("That the customer was told is noted already."))
    with override("en"):  # the ledger has one language
        way = message.customer.get_contact_by_display() or "by hand"
    commands.record_customer_told(message.job_id, message.about, way=way, at=at, by=by)


def retry(message: Message, *, by: User, at: datetime) -> None:
    """Put a message that was given up back in line."""
    roles.require(by, "note")
    given_up = Message.objects.filter(pk=message.pk, sent_at=None, given_up_at__isnull=False)
    given_up.update(given_up_at=None, tries=0, send_after=at, lease_until=None)


def erase_texts(customer: Customer) -> None:
    """Take the words of messages away, and send what waits no longer."""
    customer.messages.filter(sent_at=None).delete()
    customer.messages.update(subject="", text="", last_error="")
