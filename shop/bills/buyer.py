"""Whom a bill is for."""

from __future__ import annotations

from dataclasses import dataclass

from shop.bills.models import Bill
from shop.customers.models import Intake
from shop.lib.addresses import Address


@dataclass(frozen=True)
class Buyer:
    """Whom a bill is for."""

    name: str
    postal: Address


def buyer_of(bill: Bill) -> Buyer:
    """Return whom a draft is for: as typed on it, else the customer."""
    intake = Intake.objects.select_related("customer").filter(job=bill.job_id).first()
    customer = intake.customer if intake else None
    if bill.buyer_name or customer is None or customer.erased_at:
        return Buyer(bill.buyer_name, bill.buyer_postal)
    typed = bill.buyer_postal
    other = typed.street or typed.city or typed.post_code
    return Buyer(customer.name, typed if other else customer.postal)
