"""What every document says about unit, shop and rules; read off the record, no layout."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.utils import timezone

from shop.customers.models import Intake
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.preferences import current as preferences

UNREPAIRED = (
    "This unit goes back unrepaired. Do not plug it in: it has not been shown to be safe. "
    "Local codes and licensed practice come first."
)


def common_fields(traveller: Traveller, title: str) -> dict[str, Any]:
    """Return what every document says about the unit and the shop."""
    job = traveller.job
    return {
        "title": title,
        "shop": preferences.value("shop_name"),
        "fonts": [settings.FONT] if settings.FONT else [],
        "number": str(job.number),
        "unit": str(job.unit),
        "serial": job.unit.serial,
        "customer": _customer_name(job),
        "received": when(job.received_at),
        "complaint": job.complaint or "Nothing was said.",
        "pack": f"{traveller.checklist.pack.name} {traveller.checklist.pack.version}, "
        f"digest {traveller.checklist.pack.digest}",
        "head": str(job.head),
        "hash": traveller.record.rows[-1].hash,
    }


def when(at: Any) -> str:
    """Return a moment in the shop's time."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}"


def _customer_name(job: Job) -> str:
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    return str(intake.customer) if intake and intake.customer else ""
