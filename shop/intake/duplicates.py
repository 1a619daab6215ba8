"""What came in may have been here before: hints by serial number and e-mail, for a person to judge."""

from __future__ import annotations

from django.db.models import Q
from django.utils.translation import gettext as _

from shop.customers.models import Intake
from shop.jobs.models import Job

MOST = 5


def duplicate_hints(job: Job) -> list[str]:
    """Return a sentence for each likeness with earlier jobs; nothing is joined by it.

    The same make, model and serial number are one unit already; of it the last job is told.
    """
    sentences = [
        _earlier_visit(earlier)
        for earlier in job.unit.jobs.exclude(pk=job.pk).order_by("-number")[:1]
    ]
    same_serial = _same_serial(job)
    if same_serial:
        sentences.append(
            _("The same serial number under another name: {jobs}.").format(
                jobs=_listed(same_serial)
            )
        )
    same_email = _same_email(job)
    if same_email:
        sentences.append(
            _("The same e-mail under another name: {jobs}.").format(jobs=_listed(same_email))
        )
    return sentences


def earlier_jobs(serial: str, email: str) -> list[Job]:
    """Return the newest jobs of this serial number or of a customer with this e-mail."""
    either = Q()
    if serial:
        either |= Q(unit__serial__iexact=serial)
    if email:
        either |= Q(intake__customer__email__iexact=email)
    if not either:
        return []
    return list(Job.objects.filter(either).select_related("unit").order_by("-number")[:MOST])


def _earlier_visit(earlier: Job) -> str:
    if earlier.closed_at is None:
        return _("This unit is here already: job {number} is open.").format(number=earlier.number)
    return _("This unit was here before, as job {number}.").format(number=earlier.number)


def _same_serial(job: Job) -> list[Job]:
    if not job.unit.serial:
        return []
    others = Job.objects.filter(unit__serial__iexact=job.unit.serial).exclude(unit=job.unit)
    return list(others.select_related("unit").order_by("-number")[:MOST])


def _same_email(job: Job) -> list[Job]:
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    if intake is None or intake.customer is None or not intake.customer.email:
        return []
    others = Job.objects.filter(intake__customer__email__iexact=intake.customer.email)
    of_others = others.exclude(intake__customer=intake.customer).select_related("unit")
    return list(of_others.order_by("-number")[:MOST])


def _listed(jobs: list[Job]) -> str:
    return ", ".join(
        _("job {number} ({unit})").format(number=job.number, unit=job.unit) for job in jobs
    )
