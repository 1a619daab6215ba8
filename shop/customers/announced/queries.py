"""Which units are on their way, and the link by which the customer says what comes."""

from __future__ import annotations

import hmac
from datetime import datetime
from typing import Any

from django.db.models import F, Q, QuerySet
from django.urls import reverse

from shop.customers.announced.models import Announcement
from shop.customers.announced.services import FIELDS
from shop.customers.links import tokens
from shop.customers.models import Customer
from shop.preferences import current as preferences

_SALT = "shop.announced"


def expected() -> QuerySet[Announcement]:
    """Return what was announced and is not here, the day that comes first in front."""
    said = Announcement.objects.filter(job=None, said_at__isnull=False)
    return said.order_by(F("expected_on").asc(nulls_last=True), "pk")


def asked() -> QuerySet[Announcement]:
    """Return the links in which the customer has not yet said what comes."""
    return Announcement.objects.filter(job=None, said_at=None).order_by("-pk")


def like(serial: str, email: str) -> QuerySet[Announcement]:
    """Return what is expected with this serial number or from this e-mail."""
    either = Q()
    if serial:
        either |= Q(serial__iexact=serial)
    if email:
        either |= Q(email__iexact=email)
    return expected().filter(either) if either else Announcement.objects.none()


def travelling_as(number: str) -> Announcement | None:
    """Return what is expected in the one parcel of this number; None for none and for several."""
    found = list(expected().filter(tracking__iexact=number.strip())[:2]) if number.strip() else []
    return found[0] if len(found) == 1 else None


def of_customer(customer: Customer) -> QuerySet[Announcement]:
    """Return what is not here yet of somebody with this e-mail or telephone."""
    either = Q()
    if customer.email:
        either |= Q(email__iexact=customer.email)
    if customer.phone:
        either |= Q(phone=customer.phone)
    return Announcement.objects.filter(either, job=None) if either else Announcement.objects.none()


def values(row: Announcement) -> dict[str, Any]:
    """Return what was said, field by field."""
    return {name: getattr(row, name) for name in FIELDS}


def token(row: Announcement) -> str:
    """Return what stands in the address that the customer is given."""
    return tokens.made(row.pk, row.nonce, salt=_SALT)


def address(row: Announcement) -> str:
    """Return the whole address that the customer is given."""
    return str(preferences.value("address") + reverse("announce", args=[token(row)]))


def opened(given: str, *, now: datetime) -> Announcement | None:
    """Return the announcement of a token; None for one that is forged, dropped or past its day."""
    read = tokens.read(given, salt=_SALT)
    row = Announcement.objects.filter(pk=read[0]).first() if read else None
    if row is None or read is None or not hmac.compare_digest(row.nonce, read[1]):
        return None
    return row if row.expires_at > now else None
