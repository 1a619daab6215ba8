"""Erase a person from everything that holds one: owner, messages, links, pictures of parcels."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from shop.customers import services as customer_services
from shop.customers.links import keys
from shop.customers.models import Owner
from shop.messages import sending


@transaction.atomic
def erase(owner: Owner, *, by: User, at: datetime) -> None:
    """Take away all of it or nothing; Refused while a unit of theirs is here."""
    customer_services.erase(owner, by=by, at=at)
    sending.forget(owner)
    for job in customer_services.jobs_of(owner):
        keys.revoke(job, by=by, at=at)
