"""E-mail that is written with its cause and sent by whoever claims it, once.

A worker that is killed leaves a lease that runs out, and the next one sends the mail. Killed
between the mail server's yes and the note of it, the mail goes out again under the same
Message-ID, by which mail systems know it as the same one.
"""

from __future__ import annotations

import hashlib
import logging
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import models, transaction
from django.db.models import F, Q, QuerySet

from shop.preferences import current as preferences

log = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
MOST_TRIES = 8
MOST_AT_ONCE = 200


class QueuedEmail(models.Model):
    """An e-mail to be sent. `key` names its cause, so that it is written once."""

    key = models.CharField(max_length=60)
    send_after = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)
    last_error = models.CharField(max_length=400, blank=True)

    class Meta:
        abstract = True


def message_id(name: str) -> str:
    """Return the Message-ID of a mail by its name: the same for every try."""
    digest = hashlib.sha256(f"{settings.SECRET_KEY}/{name}".encode()).hexdigest()
    domain = preferences.value("email_from").rpartition("@")[2].strip("> ") or "localhost"
    return f"<{digest[:40]}@{domain}>"


def deliver(
    mails: QuerySet[Any],
    compose: Callable[[int], EmailMessage],
    *,
    now: datetime,
    sent: Callable[[int], object] | None = None,
) -> int:
    """Send those of the mails that are due; returns how many went out.

    `compose` makes the message of a mail by its key; `sent` is called with the key in the
    transaction that notes the sending. One that fails waits longer each time, and is given up
    after MOST_TRIES.
    """
    waiting = mails.filter(sent_at=None, given_up_at=None, send_after__lte=now)
    keys = list(waiting.order_by("send_after", "pk").values_list("pk", flat=True)[:MOST_AT_ONCE])
    started = time.monotonic()
    count = 0
    for key in keys:
        # The lease runs from this mail's own moment: a slow server must not eat it up.
        moment = now + timedelta(seconds=time.monotonic() - started)
        free = waiting.filter(Q(lease_until=None) | Q(lease_until__lt=moment), pk=key)
        # One conditional UPDATE: of two workers, one gets it.
        if free.update(lease_until=moment + LEASE, tries=F("tries") + 1):
            count += _send(mails, key, compose, sent, now)
    return count


def _send(
    mails: QuerySet[Any],
    key: int,
    compose: Callable[[int], EmailMessage],
    sent: Callable[[int], object] | None,
    now: datetime,
) -> bool:
    unsent = mails.filter(pk=key, sent_at=None)
    try:
        compose(key).send()
    except Exception as error:
        log.warning("%s %s could not be sent: %s", mails.model.__name__, key, error)
        tries = mails.values_list("tries", flat=True).get(pk=key)
        given_up = now if tries >= MOST_TRIES else None
        problem = f"{type(error).__name__}: {error}"[:400]
        after = now + timedelta(minutes=2**tries)
        unsent.update(lease_until=None, send_after=after, given_up_at=given_up, last_error=problem)
        return False
    with transaction.atomic():
        unsent.update(sent_at=now, lease_until=None, last_error="")
        if sent is not None:
            sent(key)
    return True
