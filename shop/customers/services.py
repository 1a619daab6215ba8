"""What is kept of a customer: given out on request, changed, and taken away on request."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Count, Max, Q, QuerySet
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.customers.announced import queries as announced
from shop.customers.fields import READ
from shop.customers.links import keys
from shop.customers.models import Customer, Intake
from shop.customers.signals import customer_erased
from shop.jobs.models import Job
from shop.lib.refusals import refuse
from shop.manuals import services as manual_services
from shop.photos import services as photo_services

MOST_JOBS = 500
_ADDRESS = ("address", "post_code", "city", "country")
PERSONAL = ("name", "email", "phone", *_ADDRESS, "contact_by", "language")


def listed(typed: str = "") -> QuerySet[Customer]:
    """Return customers by name, each with `units` and `last`, those that hold all words typed."""
    found = Customer.objects.filter(erased_at=None)
    for word in typed.split():
        found = found.filter(
            Q(name__icontains=word) | Q(email__icontains=word) | Q(phone__icontains=word)
        )
    counted = found.annotate(units=Count("intakes"), last=Max("intakes__job__received_at"))
    return counted.order_by("name", "email", "pk")


def jobs_of(customer: Customer) -> QuerySet[Job]:
    """Return the jobs of a customer, newest first."""
    return Job.objects.filter(intake__customer=customer).select_related("unit").order_by("-number")


def jobs_by_customer(customers: Iterable[Customer], most: int = 5) -> dict[int, list[Job]]:
    """Return the newest jobs of each customer by their key; one query."""
    found: dict[int, list[Job]] = defaultdict(list)
    came = Intake.objects.filter(customer__in=list(customers)).select_related("job__unit")
    for intake in came.order_by("-job_id")[:MOST_JOBS]:
        jobs = found[intake.customer_id or 0]
        if len(jobs) < most:
            jobs.append(intake.job)
    return found


def change(customer: Customer, given: dict[str, Any], *, by: User, at: datetime) -> Customer:
    """Keep what was typed; consent is noted with the moment it was given, or taken back."""
    roles.require(by, "receive")
    for name in PERSONAL:
        setattr(customer, name, READ[name](f"customer.{name}", given.get(name, "")))
    agreed = bool(given.get("agreed_to_mail"))
    customer.agreed_to_mail_at = (customer.agreed_to_mail_at or at) if agreed else None
    customer.save()
    return customer


def told(customer: Customer) -> dict[str, Any]:
    """Return everything kept of a person, to be handed out: the person, and their units' jobs.

    What the bench found is about the unit; its record goes with the release papers.
    """
    kept: dict[str, Any] = {name: getattr(customer, name) for name in PERSONAL}
    kept["agreed_to_mail_at"] = customer.agreed_to_mail_at
    rows = Intake.objects.filter(customer=customer).select_related("job__unit").order_by("job")
    kept["units"] = [
        {
            "job": row.job_id,
            "make": row.job.unit.make,
            "model": row.job.unit.model,
            "serial": row.job.unit.serial,
            "received_at": row.job.received_at,
            "closed_at": row.job.closed_at,
            "complaint": row.job.complaint,
            "came_by": row.came_by,
            "accessories": row.things,
        }
        for row in rows
    ]
    kept["papers"] = manual_services.papers_of(jobs_of(customer))
    kept["announced"] = [announced.values(row) for row in announced.of_customer(customer)]
    return kept


@transaction.atomic
def erase(customer: Customer, *, by: User, at: datetime) -> Customer:
    """Take away everything personal, here and wherever it is kept; jobs and ledgers keep the work.

    Refused while a unit of theirs is here: it could not be given back.
    """
    roles.require(by, "persons")
    customer = Customer.objects.select_for_update().get(pk=customer.pk)
    here = jobs_of(customer).filter(closed_at=None).first()
    if here is not None:
        raise refuse(
            "unit-here",
            _("Job {number} is open: give the unit back first.").format(number=here.number),
        )
    announced.of_customer(customer).delete()
    for name in PERSONAL:
        setattr(customer, name, "")
    customer.agreed_to_mail_at, customer.erased_at = None, at
    customer.save()
    photo_services.remove_parcel_photos(jobs_of(customer), at=at)
    manual_services.remove_papers(jobs_of(customer))
    for job in jobs_of(customer):
        keys.revoke(job, by=by, at=at)
    customer_erased.send(sender=Customer, customer=customer)
    return customer
