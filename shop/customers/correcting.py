"""Correcting an intake: whose unit it is and how it came, beside what the bench keeps."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.customers.fields import READ
from shop.customers.links import keys
from shop.customers.models import Customer, Intake
from shop.jobs import commands
from shop.jobs.events.intake_corrected import IntakeCorrected
from shop.jobs.models import Job
from shop.lib.refusals import BadInput

_OF_CUSTOMER = ("name", "email", "phone")
_OF_ARRIVAL = ("came_by", "parcel", "accessories")


def correct_intake(
    number: int,
    *,
    by: User,
    at: datetime,
    customer: Mapping[str, Any] | None = None,
    arrival: Mapping[str, Any] | None = None,
    **unit: str | None,
) -> Job:
    """Correct an intake (see `commands.correct_intake`), its customer and arrival included.

    `customer` holds name, email, phone: the job goes to the customer of this name and e-mail, and
    links that the former one was given are closed. `arrival` holds came_by, parcel, accessories.
    The row of the ledger names customers by number. BadInput names what is wrong.
    """
    roles.require(by, IntakeCorrected.ability)
    person = _read("customer", _OF_CUSTOMER, customer or {})
    came = _read("arrival", _OF_ARRIVAL, arrival or {})
    with transaction.atomic():
        intake = Intake.objects.filter(job=number).first() or Intake(job_id=number)
        changes = _corrected(intake, person, came)
        job = commands.correct_intake(number, by=by, at=at, others=changes, **unit)
        if changes:
            intake.save()
        if changes.get("customer", {}).get("from"):
            keys.revoke(job, by=by, at=at)
    return job


def _read(what: str, names: tuple[str, ...], given: Mapping[str, Any]) -> dict[str, str]:
    problems = [
        (
            f"{what}.{name}",
            _("{what} has no {name}; it has {names}.").format(
                what=what, name=name, names=", ".join(names)
            ),
        )
        for name in given
        if name not in names
    ]
    taken: dict[str, str] = {}
    for name in names:
        try:
            if given.get(name) is not None:
                taken[name] = READ[name](f"{what}.{name}", given[name])
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return taken


def _corrected(intake: Intake, person: dict[str, str], came: dict[str, str]) -> dict[str, Any]:
    """Set what is corrected on the intake, and return it as the ledger keeps it."""
    changes: dict[str, Any] = {}
    for name, value in came.items():
        if value != getattr(intake, name):
            changes[name] = {"from": getattr(intake, name), "to": value}
            setattr(intake, name, value)
    if person:
        before, intake.customer = intake.customer_id, _customer(person)
        if intake.customer_id != before:
            changes["customer"] = {"from": before, "to": intake.customer_id}
    return changes


def _customer(person: dict[str, str]) -> Customer | None:
    """Return the customer of this name and e-mail, a new one when none is known; None for nobody."""
    if not any(person.values()):
        return None
    name, email = person.get("name", ""), person.get("email", "")
    alike = Customer.objects.filter(name=name, email__iexact=email, erased_at=None)
    known = alike.first() if email else None
    return known or Customer.objects.create(**person)
