"""What the receipt says: whose unit was handed in, with what, in which state, on which terms."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from shop.customers import terms
from shop.customers.models import Intake
from shop.documents.common import common_fields
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.queries import Traveller
from shop.jobs.record import Record
from shop.lib.money import formatted
from shop.lib.text import plain, spaced
from shop.preferences import current as preferences

_DAMAGE = "intake.damage"


def receipt(traveller: Traveller) -> dict[str, Any]:
    """Return the paper that a customer gets for a unit that was handed in."""
    intake = Intake.objects.select_related("customer").filter(job=traveller.job).first()
    customer = intake.customer if intake else None
    reached = [customer.phone, customer.email] if customer else []
    return common_fields(traveller, "Receipt") | {
        "reached": " · ".join(filter(None, reached)),
        "things": [str(traveller.job.unit), *(intake.things if intake else [])],
        "state": _state(traveller.record, intake),
        "limit": _limit(traveller.record),
        "terms": terms.lines(),
    }


def _state(record: Record, intake: Intake | None) -> list[str]:
    """Return what was seen of the unit as it came."""
    came = intake.get_came_by_display() if intake and intake.came_by else ""
    parcel = intake.get_parcel_display() if intake and intake.parcel else ""
    open_ = any(row.data.get("arrived_open") for row in record.of_type(CoverRemoved.event_type))
    return [
        *([f"It came {came}."] if came else []),
        *([f"The parcel was {parcel}."] if parcel else []),
        *(["It came without its cover."] if open_ else []),
        _damage(record.recorded_facts.get(_DAMAGE)),
    ]


def _damage(seen: object) -> str:
    if seen == ["none"]:
        return "No damage was seen."
    if isinstance(seen, list) and seen:
        return f"Damage seen: {spaced(plain(seen))}."
    return "Damage was not looked for yet."


def _limit(record: Record) -> str:
    """Return up to which price nobody asks, where that was agreed."""
    amount = record.agreement.ring_above
    if not amount or amount == "0":
        return "Nothing that costs money is done before you agree to it."
    money = formatted(Decimal(amount), preferences.value("currency"))
    return f"You are asked before it costs more than {money}, tax included."
