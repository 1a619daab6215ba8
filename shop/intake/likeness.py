"""What came in may have been here before: hints by serial number and e-mail, for a person to judge."""

from __future__ import annotations

from django.db.models import Q

from shop.customers.models import Intake
from shop.jobs.models import Job

MOST = 5


def hints(job: Job) -> list[str]:
    """Return a sentence for each likeness with earlier jobs; nothing is joined by it.

    The same make, model and serial number are one unit already; of it the last job is told.
    """
    found = [_here_before(one) for one in job.unit.jobs.exclude(pk=job.pk).order_by("-number")[:1]]
    alike = _same_serial(job)
    if alike:
        found.append(f"The same serial number under another name: {_told(alike)}.")
    owned = _same_address(job)
    if owned:
        found.append(f"The same e-mail under another name: {_told(owned)}.")
    return found


def before(serial: str, email: str) -> list[Job]:
    """Return the newest jobs of this serial number or of a customer with this e-mail."""
    same = Q()
    if serial:
        same |= Q(unit__serial__iexact=serial)
    if email:
        same |= Q(intake__customer__email__iexact=email)
    if not same:
        return []
    return list(Job.objects.filter(same).select_related("unit").order_by("-number")[:MOST])


def _here_before(earlier: Job) -> str:
    if earlier.closed_at is None:
        return f"This unit is here already: job {earlier.number} is open."
    return f"This unit was here before, as job {earlier.number}."


def _same_serial(job: Job) -> list[Job]:
    if not job.unit.serial:
        return []
    others = Job.objects.filter(unit__serial__iexact=job.unit.serial).exclude(unit=job.unit)
    return list(others.select_related("unit").order_by("-number")[:MOST])


def _same_address(job: Job) -> list[Job]:
    mine = Intake.objects.select_related("customer").filter(job=job).first()
    if mine is None or mine.customer is None or not mine.customer.email:
        return []
    others = Job.objects.filter(intake__customer__email__iexact=mine.customer.email)
    apart = others.exclude(intake__customer=mine.customer).select_related("unit")
    return list(apart.order_by("-number")[:MOST])


def _told(jobs: list[Job]) -> str:
    return ", ".join(f"job {job.number} ({job.unit})" for job in jobs)
