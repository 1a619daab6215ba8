"""Taking in a unit together with its customer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from django.utils.translation import override

from shop.customers.announced import services as announcing
from shop.customers.fields import READ
from shop.customers.models import Customer, Intake
from shop.jobs import commands
from shop.jobs.models import Job
from shop.lib.refusals import BadInput
from shop.model_sheets import services as model_sheet_services


@dataclass(frozen=True)
class IntakeDetails:
    """Whose unit it is and how it came, as typed; empty is not known.

    `ring_above` is the price up to which the customer wants not to be asked; `agreed_to_mail` that
    e-mails about the unit are welcome.
    """

    name: str = ""
    email: str = ""
    phone: str = ""
    address: str = ""
    post_code: str = ""
    city: str = ""
    country: str = ""
    contact_by: str = ""
    language: str = ""
    agreed_to_mail: bool = False
    came_by: str = ""
    parcel: str = ""
    accessories: str = ""
    ring_above: str = ""

    @property
    def has_intake(self) -> bool:
        """Whether anything is known of the customer or of how the unit came."""
        of_customer = self.name or self.email or self.phone
        return bool(of_customer or self.came_by or self.parcel or self.accessories)


def receive(
    *,
    by: User,
    at: datetime,
    customer_name: str = "",
    customer_email: str = "",
    details: IntakeDetails | None = None,
    announced: int | None = None,
    **unit: Any,
) -> Job:
    """Open a job, or add to the open one (see `commands.receive`), and note whose it is and how it came.

    The customer's name and address stay out of the ledger; how the parcel looked and what came
    along go in. A job that has its customer keeps it. `announced` is the key of the announcement
    that this is: it becomes the job. BadInput names what is wrong.
    """
    validated = _validated(details or IntakeDetails(name=customer_name, email=customer_email))
    with transaction.atomic():
        job = commands.receive(by=by, at=at, sheet_facts=model_sheet_services.facts_for, **unit)
        if validated.has_intake:
            _save_intake(job, validated, by=by, at=at)
        if announced is not None:
            _was_announced(announced, job, by=by, at=at)
        if validated.ring_above:
            commands.record(
                job.number, "limit_agreed", {"amount": validated.ring_above}, by=by, at=at
            )
    return Job.objects.get(pk=job.pk)


def _was_announced(key: int, job: Job, *, by: User, at: datetime) -> None:
    """Let the announcement become the job; the record says with whom the parcel came, not whose."""
    row = announcing.become(key, job)
    parcel = ", number ".join(filter(None, (row.carrier, row.tracking)))
    words = f"Announced on {timezone.localdate(row.said_at or row.made_at):%-d %B %Y}"
    words += f"; the parcel came with {parcel}." if parcel else "."
    commands.record(job.number, "note_added", {"text": words}, by=by, at=at)


def _save_intake(job: Job, details: IntakeDetails, *, by: User, at: datetime) -> None:
    arrival = {name: getattr(details, name) for name in ("came_by", "parcel", "accessories")}
    intake, new = Intake.objects.get_or_create(job=job, defaults=arrival)
    known = details.name or details.email or details.phone
    if known and intake.customer is None:
        intake.customer = _customer(details, at)
        intake.save(update_fields=["customer"])
    words = _arrival_in_words(intake if new else _brought_later(intake, arrival))
    if words:
        commands.record(job.number, "note_added", {"text": words}, by=by, at=at)


def _brought_later(intake: Intake, arrival: dict[str, str]) -> Intake:
    """Keep what came along later beside what came first, and return the later arrival by itself."""
    if arrival["accessories"]:
        intake.accessories = "\n".join(filter(None, (intake.accessories, arrival["accessories"])))
        intake.save(update_fields=["accessories"])
    return Intake(**arrival)


def _arrival_in_words(arrival: Intake) -> str:
    # It goes into the ledger, which has one language.
    with override("en"):
        return _in_words(arrival)


def _in_words(arrival: Intake) -> str:
    came = f"Came {arrival.get_came_by_display()}." if arrival.came_by else ""
    parcel = f"The parcel was {arrival.get_parcel_display()}." if arrival.parcel else ""
    things = f"With it: {', '.join(arrival.things)}." if arrival.things else ""
    return " ".join(filter(None, (came, parcel, things)))


def _validated(given: IntakeDetails) -> IntakeDetails:
    """Return it with every field checked; BadInput names all that are wrong at once."""
    problems: list[tuple[str, str]] = []
    validated: dict[str, Any] = {"agreed_to_mail": given.agreed_to_mail}
    for name, read in READ.items():
        try:
            validated[name] = read(f"customer.{name}", getattr(given, name))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return IntakeDetails(**validated)


def _customer(details: IntakeDetails, at: datetime) -> Customer:
    """Return the customer of this name and address, what was not known of them added."""
    customer = Customer.objects.filter(email__iexact=details.email, name=details.name).first()
    if customer is None or not details.email:
        customer = Customer(name=details.name, email=details.email)
    for name in ("phone", "address", "post_code", "city", "country", "contact_by", "language"):
        setattr(customer, name, getattr(details, name) or getattr(customer, name))
    if not customer.contact_by and customer.phone and not customer.email:
        # There is no other way to reach them.
        customer.contact_by = Customer.TELEPHONE
    if details.agreed_to_mail and customer.agreed_to_mail_at is None:
        customer.agreed_to_mail_at = at
    customer.save()
    return customer
