"""What bills do when something happens elsewhere."""

from __future__ import annotations

from typing import Any

from django.dispatch import receiver

from shop.bills.models import Bill
from shop.bills.services import BUYER
from shop.customers import services as customers
from shop.customers.models import Customer
from shop.customers.signals import customer_erased


@receiver(customer_erased)
def forget_buyers_of_drafts(customer: Customer, **_: Any) -> None:
    """Take the person off drafts; an issued bill keeps whom it was for."""
    drafts = Bill.objects.filter(job__in=customers.jobs_of(customer), place=None)
    drafts.update(**dict.fromkeys(BUYER, ""))
