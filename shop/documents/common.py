"""What every document says about unit, shop and rules; read off the record, no layout."""

from __future__ import annotations

import base64
from datetime import datetime
from typing import Any

from django.conf import settings
from django.utils import timezone, translation
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.customers import stations
from shop.customers.languages import customer_of
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.lib import addresses, languages
from shop.lib.languages import day
from shop.preferences import current as preferences
from shop.preferences.kinds import PICTURE_HEAD

UNREPAIRED = gettext_lazy(
    "This unit goes back unrepaired. Do not plug it in: it has not been shown to be safe. "
    "Local codes and licensed practice come first."
)

# How an answer to an estimate came, as papers say it.
ANSWERED = {
    "link": gettext_lazy("on the customer's page"),
    "telephone": gettext_lazy("by telephone"),
    "letter": gettext_lazy("by letter"),
    "counter": gettext_lazy("at the counter"),
    "within-limit": gettext_lazy("within the limit agreed before"),
}


def common_fields(traveller: Traveller, title: str) -> dict[str, Any]:
    """Return what every document says about the unit and the shop."""
    job = traveller.job
    customer = customer_of(job)
    return letterhead() | {
        "title": title,
        "foot": foot(job.number, title),
        "fonts": [settings.FONT] if settings.FONT else [],
        "number": str(job.number),
        "unit": str(job.unit),
        "serial": job.unit.serial,
        "customer": str(customer or ""),
        "customer_address": "\n".join(customer.postal_lines) if customer else "",
        "received": day(job.received_at),
        "about": _about(job),
        "complaint": job.complaint or _("Nothing was said."),
        "line": customers_line(traveller),
        "record": _("Record at printing: row {row}, SHA-256 {hash}").format(
            row=job.head, hash=traveller.record.rows[-1].hash
        ),
        "in_english": in_english(),
    }


def foot(number: int, title: str) -> str:
    """Return what stands at the foot of every page."""
    return _("Job {number}, {title}").format(number=number, title=title)


def _about(job: Job) -> str:
    received = _("Received {day}.").format(day=day(job.received_at))
    if not job.unit.serial:
        return received
    serial = _("Serial number {serial}.").format(serial=job.unit.serial)
    return f"{serial} {received}"


def in_english() -> str:
    """Return that what the rules and the record say is English; nothing on a paper in English."""
    if languages.is_english():
        return ""
    return _("Findings, work, steps and readings are written in English.")


def caution(words: Promise) -> list[str]:
    """Return a warning, and in another language the English sentence after it."""
    with translation.override(languages.ENGLISH):
        english = str(words)
    return list(dict.fromkeys([str(words), english]))


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


def way_of(way: object) -> str:
    """Return 'by telephone' for the way that an answer came; nothing where none is recorded."""
    return str(ANSWERED[way]) if isinstance(way, str) and way in ANSWERED else ""
