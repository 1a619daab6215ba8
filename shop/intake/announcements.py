"""A unit that was announced: what was said of it fills the form that takes it in."""

from __future__ import annotations

from typing import Any

from django.http import QueryDict

from shop.customers.announced import queries
from shop.customers.announced.models import Announcement
from shop.customers.announced.services import OF_UNIT, PERSONAL
from shop.customers.models import Intake
from shop.intake.services import IntakeDetails
from shop.lib.text import whole

MOST_HINTS = 3


def expected(key: Any) -> Announcement | None:
    """Return the announcement of this key while its unit is not here; None for any other."""
    number = whole(str(key or ""))
    return Announcement.objects.filter(pk=number, job=None).first() if number else None


def filled_in(asked: QueryDict) -> dict[str, Any]:
    """Return what the fields of the form begin with when an announced unit is received."""
    row = expected(asked.get("announced"))
    if row is None:
        return {}
    unit = {name: getattr(row, name) for name in OF_UNIT}
    details = details_of(row)
    names = (*PERSONAL, "agreed_to_mail", "came_by")
    customer = {f"customer_{name}": getattr(details, name) for name in names}
    return {"announced": row.pk, **unit, **customer}


def details_of(row: Announcement) -> IntakeDetails:
    """Return whose it is, and that it came by parcel where one was announced."""
    given = {name: getattr(row, name) for name in (*PERSONAL, "agreed_to_mail")}
    came_by = Intake.PARCEL if row.carrier or row.tracking else ""
    return IntakeDetails(**given, came_by=came_by)


def like(asked: QueryDict) -> list[Announcement]:
    """Return what is expected with the serial number or the e-mail that is being typed."""
    serial, email = (asked.get(name, "").strip() for name in ("serial", "customer_email"))
    return list(queries.like(serial, email)[:MOST_HINTS])
