"""Browsers are added and taken away, and what they are to be told is written with its cause."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Sequence
from datetime import datetime

from cryptography.hazmat.primitives.asymmetric import ec
from django.contrib.auth.models import User
from django.utils.translation import gettext

from shop.lib import outgoing
from shop.lib.refusals import bad, refuse
from shop.push import keys
from shop.push.models import PushMessage, Subscription

MOST_BROWSERS = 20
_POINT, _SECRET = 65, 16


def add(
    person: User, *, address: str, p256dh: str, auth: str, browser: str, at: datetime
) -> Subscription:
    """Keep a browser as it describes itself; BadInput for what no browser sends."""
    keys.require_library()
    problem = outgoing.problem_of(address)
    if problem or not address.startswith("https://"):
        raise bad("address", problem or gettext("The address of a push service begins with https."))
    _require_point(p256dh)
    if len(_bytes("auth", auth)) != _SECRET:
        raise bad(
            "auth", gettext("auth must be {secret} bytes in base64url.").format(secret=_SECRET)
        )
    others = Subscription.objects.filter(person=person).exclude(address=address)
    if others.count() >= MOST_BROWSERS:
        raise refuse(
            "many",
            gettext("{most_browsers} browsers are told already; take one away first.").format(
                most_browsers=MOST_BROWSERS
            ),
        )
    kept = {"person": person, "p256dh": p256dh, "auth": auth, "made_at": at}
    subscription, _ = Subscription.objects.update_or_create(
        address=address, defaults=kept | {"browser": browser[:200]}
    )
    return subscription


def _require_point(p256dh: str) -> None:
    """Raise BadInput unless it is a point on the curve (RFC 8291, 3.1)."""
    point = _bytes("p256dh", p256dh)
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
    except ValueError:
        raise bad(
            "p256dh",
            gettext("p256dh must be a point of P-256, {point} bytes.").format(point=_POINT),
        ) from None


def _bytes(name: str, text: str) -> bytes:
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        raise bad(name, gettext("{name} is no base64url.").format(name=name)) from None


def remove(person: User, key: int) -> None:
    """Tell a browser of the person nothing any more."""
    Subscription.objects.filter(person=person, pk=key).delete()


def reaches(person: User) -> bool:
    """Tell whether a person who may sign in has a browser that is told."""
    return person.is_active and Subscription.objects.filter(person=person).exists()


def queue(
    people: Sequence[User], *, key: str, text: str, path: str, urgent: bool, send_after: datetime
) -> None:
    """Write a message for every browser of people; twice, it is written once."""
    browsers = Subscription.objects.filter(person__in=people, person__is_active=True)
    PushMessage.objects.bulk_create(
        [
            PushMessage(
                subscription=browser,
                key=key,
                text=" ".join(text.split())[:400],
                path=path,
                urgent=urgent,
                send_after=send_after,
            )
            for browser in browsers
        ],
        ignore_conflicts=True,
    )
