"""What messages do when something happens elsewhere."""

from __future__ import annotations

from typing import Any

from django.dispatch import receiver

from shop.customers.models import Customer
from shop.customers.signals import customer_erased
from shop.messages import sending


@receiver(customer_erased)
def forget_messages(customer: Customer, **_: Any) -> None:
    """Take the words of the customer's messages away."""
    sending.erase_texts(customer)
