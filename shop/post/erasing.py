"""Erase a person from everything that holds one: owner, messages, links, pictures of parcels."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from shop.desk import owners
from shop.desk.models import Owner
from shop.link import keys
from shop.post import sending


@transaction.atomic
def erase(owner: Owner, *, by: User, at: datetime) -> None:
    """Take away all of it or nothing; Refused while a unit of theirs is here."""
    owners.erase(owner, by=by, at=at)
    sending.forget(owner)
    for job in owners.jobs_of(owner):
        keys.revoke(job, by=by, at=at)
