"""What every document says about unit, shop and rules; read off the record, no layout."""

from __future__ import annotations

import base64
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.utils import timezone
from django.utils.dateformat import format as formatted

from shop.customers import stations
from shop.customers.models import Intake
from shop.jobs.queries import Traveller
from shop.lib import addresses
from shop.preferences import current as preferences
from shop.preferences.kinds import PICTURE_HEAD

UNREPAIRED = (
    "This unit goes back unrepaired. Do not plug it in: it has not been shown to be safe. "
    "Local codes and licensed practice come first."
)

# How an answer to an estimate came, as papers say it.
ANSWERED = {
    "link": "on the customer's page",
    "telephone": "by telephone",
    "letter": "by letter",
    "counter": "at the counter",
    "within-limit": "within the limit agreed before",
}


def common_fields(traveller: Traveller, title: str) -> dict[str, Any]:
    """Return what every document says about the unit and the shop."""
    job = traveller.job
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    customer = intake.customer if intake else None
    return letterhead() | {
        "title": title,
        "fonts": [settings.FONT] if settings.FONT else [],
        "number": str(job.number),
        "unit": str(job.unit),
        "serial": job.unit.serial,
        "customer": str(customer or ""),
        "customer_address": "\n".join(customer.postal_lines) if customer else "",
        "received": day(job.received_at),
        "complaint": job.complaint or "Nothing was said.",
        "line": customers_line(traveller),
        "record": f"Record at printing: row {job.head}, SHA-256 {traveller.record.rows[-1].hash}",
    }


def letterhead() -> dict[str, Any]:
    """Return name, address and telephone of the shop, and whether it has a logo; empty what is not set."""
    return {
        "shop": preferences.on_one_line("shop_name"),
        "shop_address": addresses.of_shop_on_one_line(),
        "telephone": preferences.on_one_line("telephone"),
        "logo": bool(preferences.value("logo")),
    }


def logo_file() -> dict[str, str]:
    """Return the logo as the file that the letterhead asks for, wrapped in a drawing; nothing without one.

    Files in memory are text to the typesetter. The size is that of the PNG's own head.
    """
    logo: str = preferences.value("logo")
    if not logo:
        return {}
    head = base64.b64decode(logo.removeprefix(PICTURE_HEAD)[:64])
    size = f'width="{int.from_bytes(head[16:20])}" height="{int.from_bytes(head[20:24])}"'
    return {
        "logo.svg": f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} href="{logo}"/></svg>'
    }


def customers_line(traveller: Traveller) -> list[dict[str, Any]]:
    """Return the stations as the customer's page draws them, each without gates."""
    way = stations.stations(traveller.job, traveller.record)
    return [
        {
            "title": one.title,
            "state": one.state,
            "day": day(one.day) if one.day else "",
            "gates": [],
        }
        for one in way
    ]


def when(at: datetime) -> str:
    """Return a moment of the record in the shop's time."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}"


def day(at: datetime | date) -> str:
    """Return a day in words, as the pages say it: '3 March 2031'."""
    return formatted(timezone.localdate(at) if isinstance(at, datetime) else at, "j F Y")


def answered(way: object) -> str:
    """Return ', by telephone' for the way that an answer came; nothing where none is recorded."""
    return f", {ANSWERED[way]}" if isinstance(way, str) and way in ANSWERED else ""
