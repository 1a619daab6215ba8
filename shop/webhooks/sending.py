"""Messages are sent by whoever claims them, in the form of the Standard Webhooks specification 1.0.0.

A worker that is killed leaves a lease that runs out. The receiver knows a message that comes
twice by its webhook-id. One that fails is tried again, later each time, and given up after the last;
the address is switched off then, or at once when it answers 410 Gone.
"""

from __future__ import annotations

import logging
import time
from datetime import UTC, datetime, timedelta

from django.db.models import F, Q, QuerySet
from standardwebhooks.webhooks import Webhook

from shop.lib import outgoing
from shop.lib.outgoing import Answer, NotSent
from shop.webhooks import services
from shop.webhooks.models import Delivery, Endpoint

log = logging.getLogger(__name__)

# Minutes after each try that failed: a day and a half in all.
BACKOFF = (1, 5, 30, 120, 300, 600, 1200)
LEASE = timedelta(minutes=2)
# Reminders of mains come round by the same worker: a round begins no message after so many seconds.
_ROUND_SECONDS = 10.0
_MOST_AT_ONCE = 500
_DEAD_AFTER = timedelta(days=1)
GONE = 410


def deliver(*, now: datetime) -> int:
    """Send what is due; returns how many messages were taken. An address that fails waits for the next round."""
    started, count, failed = time.monotonic(), 0, set[int]()
    for delivery in list(_due(now).select_related("endpoint")[:_MOST_AT_ONCE]):
        passed = time.monotonic() - started
        if passed > _ROUND_SECONDS:
            break
        moment = now + timedelta(seconds=passed)
        if delivery.endpoint_id not in failed and _claimed(delivery, moment):
            taken = _send(delivery, moment)
            count += taken
            failed |= set() if taken else {delivery.endpoint_id}
    return count


def _due(now: datetime) -> QuerySet[Delivery]:
    waiting = Delivery.objects.filter(sent_at=None, given_up_at=None, send_after__lte=now)
    return waiting.filter(endpoint__disabled_at=None).order_by("send_after", "pk")


def _claimed(delivery: Delivery, now: datetime) -> bool:
    """Tell whether this worker got it; of two, the conditional UPDATE lets one."""
    free = Delivery.objects.filter(Q(lease_until=None) | Q(lease_until__lt=now), pk=delivery.pk)
    free = free.filter(sent_at=None, given_up_at=None, tries=delivery.tries)
    return bool(free.update(lease_until=now + LEASE, tries=F("tries") + 1))


def _send(delivery: Delivery, now: datetime) -> bool:
    try:
        answer = _posted(delivery, now)
    except NotSent as error:
        log.warning("%s was not sent: %s", delivery, error)
        return _failed(delivery, Answer(0, str(error)), now)
    if not 200 <= answer.status < 300:
        log.warning("%s was answered with %s", delivery, answer.status)
        return _failed(delivery, answer, now)
    told = {"status": answer.status, "answer": answer.words, "lease_until": None, "sent_at": now}
    Delivery.objects.filter(pk=delivery.pk).update(**told)
    Endpoint.objects.filter(pk=delivery.endpoint_id).update(failing_since=None)
    return True


def _posted(delivery: Delivery, now: datetime) -> Answer:
    endpoint = delivery.endpoint
    secret = services.secret_of(endpoint)
    if not secret:
        raise NotSent("The secret cannot be opened: the signing key has changed. Make a new one.")
    # The library takes the clock's figures of UTC, whatever the zone says.
    moment = now.astimezone(UTC).replace(microsecond=0)
    headers = {
        "Content-Type": "application/json",
        "User-Agent": "Benchtag",
        "webhook-id": delivery.key,
        "webhook-timestamp": str(int(moment.timestamp())),
        "webhook-signature": Webhook(secret).sign(delivery.key, moment, delivery.body),
    }
    body = delivery.body.encode()
    return outgoing.post(endpoint.address, body, headers, private_allowed=endpoint.private_allowed)


def _failed(delivery: Delivery, answer: Answer, now: datetime) -> bool:
    tries = delivery.tries + 1
    last = tries > len(BACKOFF)
    told = {
        "status": answer.status or None,
        "answer": answer.words[:400],
        "lease_until": None,
        "given_up_at": now if last else None,
        "send_after": now + timedelta(minutes=BACKOFF[min(tries, len(BACKOFF)) - 1]),
    }
    Delivery.objects.filter(pk=delivery.pk).update(**told)
    endpoint = Endpoint.objects.filter(pk=delivery.endpoint_id)
    endpoint.filter(failing_since=None).update(failing_since=now)
    # Others may have come through since this one began to fail.
    dead = last and endpoint.filter(failing_since__lte=now - _DEAD_AFTER).exists()
    if answer.status == GONE or dead:
        endpoint.filter(disabled_at=None).update(disabled_at=now)
    return False
