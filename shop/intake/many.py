"""Taking in many units with their customers, as a spreadsheet has them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from shop.customers.fields import READ
from shop.customers.models import Customer, Intake
from shop.intake import services
from shop.jobs import commands
from shop.lib.refusals import BadInput, UserFacingError
from shop.model_sheets import services as model_sheet_services


@dataclass
class Line:
    """One row: what it says, the job that it would open, and whose unit it is."""

    number: int
    unit: dict[str, Any]
    draft: commands.Draft
    customer: tuple[str, str]
    # What became of it, where that is not simply a job of its own.
    note: str = ""


def line(
    number: int, *, by: User, at: datetime, customer_name: str, customer_email: str, **unit: Any
) -> Line:
    """Look at a row and return it; BadInput and Refused as of `services.receive`. Nothing is written."""
    customer = _customer(customer_name, customer_email)
    sheets = model_sheet_services.facts_for
    return Line(number, unit, commands.draft(by=by, at=at, sheet_facts=sheets, **unit), customer)


def _customer(name: str, email: str) -> tuple[str, str]:
    problems: list[tuple[str, str]] = []
    kept = {}
    for field, given in (("name", name), ("email", email)):
        try:
            kept[field] = READ[field](f"customer.{field}", given)
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return kept["name"], kept["email"]


@transaction.atomic
def receive_many(lines: Sequence[Line], *, by: User, at: datetime) -> list[Line]:
    """Open a job for each line, or add it to the open job of its unit; return the latter, each with a note.

    Every line was looked at before, and nothing here refuses one: what came in at the counter
    meanwhile is no reason to stop.
    """
    stored = {id(draft) for draft in commands.receive_many([line.draft for line in lines])}
    fresh = [line for line in lines if id(line.draft) in stored]
    _keep_customers(fresh)
    others = [line for line in lines if id(line.draft) not in stored]
    for one in others:
        _receive_known(one, by=by, at=at)
    return [one for one in others if one.note]


def _keep_customers(lines: Iterable[Line]) -> None:
    """Note whose units these are; one name at one address is one customer."""
    named = [one for one in lines if any(one.customer)]
    known = _known_customers(named)
    fresh: list[Customer] = []
    intakes: list[Intake] = []
    for one in named:
        name, email = one.customer
        customer = known.get((name, email.lower())) if email else None
        if customer is None:
            customer = Customer(name=name, email=email)
            fresh.append(customer)
            known[name, email.lower()] = customer
        intakes.append(Intake(job=one.draft.job, customer=customer))
    Customer.objects.bulk_create(fresh)
    Intake.objects.bulk_create(intakes)


def _known_customers(lines: Iterable[Line]) -> dict[tuple[str, str], Customer]:
    names = {name for name, email in (one.customer for one in lines) if email}
    found = Customer.objects.filter(name__in=names).exclude(email="").order_by("-pk")
    return {(customer.name, customer.email.lower()): customer for customer in found}


def _receive_known(one: Line, *, by: User, at: datetime) -> None:
    """Take in a line whose unit was here before, or whose number somebody has taken since."""
    name, email = one.customer
    unit = dict(one.unit)
    taken = commands.jobs_by_reference([unit["reference"]]).get(unit["reference"])
    if taken is not None:
        one.note = f"reference {unit['reference']} was given to job {taken} meanwhile"
        unit["note"] = f"{unit['note']} Reference {unit['reference']}, as job {taken}.".strip()
        unit["reference"] = ""
    here = commands.open_jobs_by_identity([one.draft.identity])
    try:
        job = services.receive(
            by=by, at=at, customer_name=name, customer_email=email, join=True, **unit
        )
    except UserFacingError as error:
        one.note = f"not taken in: {error}"
    else:
        if here:
            one.note = f"the unit came in meanwhile; the row was added to job {job.number}"
