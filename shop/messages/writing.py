"""A message in one's own words to the customer of a job: by e-mail, or for a person to tell."""

from __future__ import annotations

import re
from datetime import datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.customers.languages import in_language_of
from shop.customers.models import Customer, Intake
from shop.jobs.models import Job
from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.messages import composing, message_templates
from shop.messages.models import Message

ABOUT = "message"
LONGEST_TEXT = 4000
_KEY = re.compile(r"[\w-]{8,40}", re.ASCII)


def write(job: Job, words: str, *, key: str, by: User, at: datetime) -> Message:
    """Put a message to the customer in line and return it; where to answer follows the words.

    It goes at once: a person decided so. `key` (8 to 40 letters and digits) is of the page it was
    typed on: sent twice, the words of the first count. The ledger says that the customer was told
    once they are. Refused when nobody can be reached.
    """
    roles.require(by, "note")
    typed = text.take("text", words, LONGEST_TEXT, needed=True)
    if not _KEY.fullmatch(key):
        raise bad(
            "key", _("key is not of this page; open it again, and send the words from there.")
        )
    customer = reachable(job)
    with in_language_of(customer):
        values = composing.placeholder_values(job, at)
        subject = message_templates.fill(_("About your {unit} (job {job})"), values)
        end = message_templates.fill(message_templates.END, values)
    message = Message(
        job=job,
        customer=customer,
        about=ABOUT,
        key=f"{ABOUT}/{key}",
        way=composing.way_to(customer),
        subject=" ".join(subject.split())[:200],
        text=f"{typed}\n\n{end}",
        written_at=at,
        send_after=at,
    )
    try:
        with transaction.atomic():
            message.save(force_insert=True)
    except IntegrityError:
        return Message.objects.get(job=job, key=message.key)
    return message


def reachable(job: Job) -> Customer:
    """Return the customer of a job; Refused when nobody is on record or they left no way."""
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    customer = intake.customer if intake else None
    if customer is None:
        raise refuse(
            "nobody",
            _("Nobody is on record for job {number}: correct the intake.").format(
                number=job.number
            ),
        )
    if not (customer.email or customer.phone or customer.address):
        missing = _("{customer} has neither e-mail nor telephone nor address on record.")
        raise refuse("not-reached", missing.format(customer=customer))
    return customer
