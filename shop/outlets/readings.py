"""Readings that an outlet takes of a unit: offered in a field, and recorded with the outlet's name.

They belong to no step and sign nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.core import signing
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from shop.jobs import commands
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.lib import typed_numbers
from shop.lib.phrases import said
from shop.lib.refusals import bad
from shop.outlets.models import Outlet
from shop.outlets.queries import Now
from shop.preferences import current as preferences

_SALT = "outlet-reading"
# How long what stands in a field may wait for the tap that records it.
_LONGEST_SECONDS = 600
# Quantity: what it is called, the figure of the report, its unit, the power under which it is one.
QUANTITIES = {
    "limited_idle_watts": (
        gettext_noop("Power on the limiter, settled"),
        "watts",
        "W",
        Power.LIMITED,
    ),
    "limited_idle_amps": (
        gettext_noop("Mains current on the limiter, settled"),
        "amps",
        "A",
        Power.LIMITED,
    ),
    "idle_watts": (gettext_noop("Power at idle"), "watts", "W", Power.FULL),
    "idle_amps": (gettext_noop("Mains current at idle"), "amps", "A", Power.FULL),
    "mains_volts": (gettext_noop("Mains volts at the outlet"), "volts", "V", None),
}


@dataclass(frozen=True, slots=True)
class Offer:
    """One figure as it stands in its field; `proof` says that the outlet reported it."""

    quantity: str
    title: str
    value: str
    unit: str
    proof: str


def offers(outlet: Outlet, job: Job, now: Now) -> list[Offer]:
    """Return what can be read now; nothing while the report is not known, or mains is off."""
    if not job.energised or now.since is None:
        return []
    at = f"{timezone.localtime(now.since):%H:%M:%S}"
    decimal, found = preferences.value("decimal_sign"), []
    for quantity, (title, name, unit, power) in QUANTITIES.items():
        value = getattr(now, name)
        if value is not None and power in (None, job.power):
            shown = f"{value:.4g}"
            proof = signing.dumps([outlet.pk, job.pk, quantity, shown, at], salt=_SALT)
            found.append(Offer(quantity, gettext(title), shown.replace(".", decimal), unit, proof))
    return found


def take(
    outlet: Outlet, job: Job, quantity: str, typed: str, proof: str, *, by: User, at: datetime
) -> str:
    """Record a reading and return it in words; who measured it stands beside it.

    A figure that was changed by hand is recorded as typed. BadInput names what cannot be read.
    """
    if quantity not in QUANTITIES:
        raise bad(
            "quantity",
            gettext("quantity is {quantity}; it must be one of {these}.").format(
                quantity=quantity, these=", ".join(QUANTITIES)
            ),
        )
    words, _, unit, _ = QUANTITIES[quantity]
    title = gettext(words)
    try:
        value = typed_numbers.number(typed, unit=unit, decimal=preferences.value("decimal_sign"))
    except typed_numbers.TypedWrong as wrong:
        raise bad("value", f"{title}: {said(wrong)}") from None
    source = _source(outlet, job, quantity, value, proof)
    data = {"quantity": quantity, "value": value, "unit": unit, "source": source}
    commands.record(job.number, "reading_taken", data, by=by, at=at)
    return f"{title}: {value:g} {unit}, {source}."


def _source(outlet: Outlet, job: Job, quantity: str, value: float, proof: str) -> str:
    try:
        who, whose, what, shown, at = signing.loads(proof, salt=_SALT, max_age=_LONGEST_SECONDS)
    except signing.BadSignature:
        return f"typed beside outlet {outlet}"
    measured = (who, whose, what) == (outlet.pk, job.pk, quantity) and float(shown) == value
    return f"measured at outlet {outlet}, {at}" if measured else f"typed beside outlet {outlet}"
