"""Messages are encrypted for the browser (RFC 8291), signed for its push service (RFC 8292), and sent.

A push service that says that a browser is gone has it taken away. What fails otherwise is tried
again, as e-mails are.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.lib import outgoing
from shop.messages import mail_queue
from shop.preferences import current as preferences
from shop.push import keys
from shop.push.models import PushMessage, Subscription

GONE = (404, 410)
# For which the push service keeps it for a browser that is switched off.
_SECONDS_KEPT = 24 * 3600
# Push services stand in the open net.
PRIVATE_ALLOWED = False


def deliver(*, now: datetime) -> int:
    """Send what is due; returns how many messages were taken."""
    if not PushMessage.objects.filter(sent_at=None, given_up_at=None).exists():
        return 0
    return mail_queue.deliver(
        PushMessage.objects.filter(subscription__person__is_active=True),
        lambda key: _Message(key, now),  # type: ignore[arg-type,return-value]
        now=now,
    )


@dataclass(frozen=True)
class _Message:
    """One message on its way; it is sent as a mail is."""

    key: int
    now: datetime

    def send(self) -> None:
        """Send it; an exception when it was not taken."""
        message = PushMessage.objects.select_related("subscription").get(pk=self.key)
        browser = message.subscription
        answer = outgoing.post(
            browser.address,
            encrypted(browser, _words(message)),
            self._headers(message),
            private_allowed=PRIVATE_ALLOWED,
        )
        if answer.status in GONE:
            browser.delete()
        elif not 200 <= answer.status < 300:
            raise outgoing.NotSent(f"{answer.status}: {answer.words}")

    def _headers(self, message: PushMessage) -> dict[str, Any]:
        return keys.signed(message.subscription.address, self.now) | {
            "Content-Encoding": "aes128gcm",
            "Content-Type": "application/octet-stream",
            "TTL": str(_SECONDS_KEPT),
            "Urgency": "high" if message.urgent else "normal",
        }


def _words(message: PushMessage) -> bytes:
    said = {
        "title": preferences.value("shop_name"),
        "body": message.text,
        "path": message.path,
        "urgent": message.urgent,
    }
    return json.dumps(said, ensure_ascii=False).encode()


def encrypted(browser: Subscription, words: bytes) -> bytes:
    """Return words as only that browser can read them."""
    from pywebpush import WebPusher  # noqa: PLC0415 - an extra

    described = {
        "endpoint": browser.address,
        "keys": {"p256dh": browser.p256dh, "auth": browser.auth},
    }
    body: bytes = WebPusher(described).encode(words)["body"]
    return body
