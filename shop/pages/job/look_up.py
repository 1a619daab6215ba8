"""What stands beside the act on a wide page: causes, the unit, the customer and what is agreed."""

from __future__ import annotations

from typing import Any

from shop.customers.models import Intake
from shop.jobs.queries import Traveller
from shop.pages.job import unit_sheet

MOST_CAUSES = 4


def summary(traveller: Traveller, *, customer: bool) -> dict[str, Any]:
    """Return it short, to be read and not filled in; the customer only when `customer` is asked for."""
    record, search = traveller.record, unit_sheet.search(traveller)
    known = unit_sheet.unit(traveller)
    arrival = (
        Intake.objects.select_related("customer").filter(job=traveller.job) if customer else None
    )
    return {
        "first": search.first if search else None,
        "causes": search.open[:MOST_CAUSES] if search and search.first else [],
        "settled": [one for one in search.settled if one.state == "confirmed"] if search else [],
        "facts": known["facts"],
        "findings": known["findings"],
        "arrival": arrival.first() if arrival is not None else None,
        "estimate": record.estimate,
        "promised_on": record.promised_on,
    }
