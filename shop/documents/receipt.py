"""What the receipt says: whose unit was handed in, with what, in which state, on which terms."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.customers import terms
from shop.customers.models import Intake
from shop.documents.common import common_fields
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.queries import Traveller
from shop.jobs.record import Record
from shop.lib import languages
from shop.lib.money import formatted
from shop.lib.text import plain, spaced
from shop.preferences import current as preferences

_DAMAGE = "intake.damage"
_CAME = {
    Intake.COUNTER: gettext_lazy("It came over the counter."),
    Intake.PARCEL: gettext_lazy("It came by parcel."),
    Intake.FETCHED: gettext_lazy("It was fetched by us."),
}
_PARCELS = {
    Intake.SOUND: gettext_lazy("The parcel was sound."),
    Intake.DAMP: gettext_lazy("The parcel was damp."),
    Intake.CRUSHED: gettext_lazy("The parcel was crushed or dented."),
    Intake.OPENED: gettext_lazy("The parcel was opened or taped again."),
}


def receipt(traveller: Traveller) -> dict[str, Any]:
    """Return the paper that a customer gets for a unit that was handed in."""
    intake = Intake.objects.select_related("customer").filter(job=traveller.job).first()
    customer = intake.customer if intake else None
    reached = [customer.phone, customer.email] if customer else []
    return common_fields(traveller, _("Receipt")) | {
        "reached": " · ".join(filter(None, reached)),
        "things": [str(traveller.job.unit), *(intake.things if intake else [])],
        "state": _state(traveller.record, intake),
        "limit": _limit(traveller.record),
        "terms": terms.lines(),
    }


def _state(record: Record, intake: Intake | None) -> list[str]:
    """Return what was seen of the unit as it came."""
    came = str(_CAME[intake.came_by]) if intake and intake.came_by else ""
    parcel = str(_PARCELS[intake.parcel]) if intake and intake.parcel else ""
    open_ = any(row.data.get("arrived_open") for row in record.of_type(CoverRemoved.event_type))
    return [
        *([came] if came else []),
        *([parcel] if parcel else []),
        *([_("It came without its cover.")] if open_ else []),
        *_damage(record.recorded_facts.get(_DAMAGE)),
    ]


def _damage(seen: object) -> list[str]:
    if seen == ["none"]:
        return [_("No damage was seen.")]
    if not isinstance(seen, list) or not seen:
        return [_("Damage was not looked for yet.")]
    said = _("Damage seen: {damage}.").format(damage=spaced(plain(seen)))
    if languages.is_english():
        return [said]
    return [said, _("The words for the damage are English.")]


def _limit(record: Record) -> str:
    """Return up to which price nobody asks, where that was agreed."""
    amount = record.agreement.ring_above
    if not amount or amount == "0":
        return _("Nothing that costs money is done before you agree to it.")
    money = formatted(Decimal(amount), preferences.value("currency"))
    said = _("You are asked before it costs more than {sum}, tax included.")
    return said.format(sum=money)
