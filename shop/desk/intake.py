"""Taking in a unit together with its owner."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from checklists.engine.vocabulary import shown
from shop.desk.models import Intake, Owner
from shop.jobs import moves
from shop.jobs.models import Job
from shop.lib import text
from shop.lib.refusals import bad


def receive(
    *, by: User, at: datetime, owner_name: str = "", owner_email: str = "", **unit: Any
) -> Job:
    """Open a job (see `moves.receive`) and note whose unit it is.

    The owner's name and address stay out of the ledger. BadInput names what is wrong.
    """
    name = text.take("owner.name", owner_name, 200)
    email = _email(owner_email)
    with transaction.atomic():
        job = moves.receive(by=by, at=at, **unit)
        if name or email:
            Intake.objects.create(job=job, owner=_owner(name, email))
    return job


def _email(given: str) -> str:
    email = text.take("owner.email", given, 254)
    if email:
        try:
            validate_email(email)
        except ValidationError:
            raise bad(
                "owner.email", f"owner.email is {shown(email)}; write it like name@example.org."
            ) from None
    return email


def _owner(name: str, email: str) -> Owner:
    known = Owner.objects.filter(email__iexact=email, name=name).first() if email else None
    return known or Owner.objects.create(name=name, email=email)
