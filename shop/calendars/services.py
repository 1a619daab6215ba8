"""The address of a calendar: made, renewed, taken away, and opened.

It holds 256 random bits and opens the calendar alone, to read. It falls with the person's role.
"""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.contrib.auth.models import User

from shop.accounts import roles
from shop.calendars.models import CalendarAddress

LONGEST_TOKEN = 100
# When it was last read is noted no oftener: programs ask every few minutes.
_NOTED = timedelta(hours=1)


def renew(person: User, *, at: datetime) -> str:
    """Return what stands in the person's new address; the one before opens nothing any more."""
    roles.require(person, "read")
    token = secrets.token_urlsafe(32)
    kept = {"digest": _digest(token), "made_at": at, "read_at": None}
    CalendarAddress.objects.update_or_create(person=person, defaults=kept)
    return token


def stop(person: User) -> None:
    """Take the person's address away."""
    CalendarAddress.objects.filter(person=person).delete()


def opened(token: str, *, at: datetime) -> User | None:
    """Return whose calendar a token opens; None when it opens none."""
    if len(token) > LONGEST_TOKEN:
        return None
    known = CalendarAddress.objects.select_related("person").filter(digest=_digest(token)).first()
    if known is None or not known.person.is_active or not roles.may(known.person, "read"):
        return None
    if known.read_at is None or known.read_at < at - _NOTED:
        CalendarAddress.objects.filter(pk=known.pk, digest=known.digest).update(read_at=at)
    return known.person


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
