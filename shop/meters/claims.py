"""An instrument is at one job at a time: its leads hang in one unit."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.instruments.models import Instrument
from shop.jobs.models import Job
from shop.jobs.stages import CLOSED
from shop.lib.refusals import refuse
from shop.meters.models import Claim

LASTS = timedelta(minutes=30)


def take(
    instrument: Instrument, job: Job, *, by: User, at: datetime, lasts: timedelta = LASTS
) -> Claim:
    """Claim an instrument for a job, or go on with its claim; Refused while another job has it."""
    with transaction.atomic():
        _over(at).filter(instrument=instrument).delete()
        until = at + lasts
        claim, made = Claim.objects.get_or_create(
            instrument=instrument, defaults={"job": job, "by": by, "until": until}
        )
        if claim.job_id != job.number:
            until_then = timezone.localtime(claim.until)
            raise refuse(
                "claimed",
                _(
                    "{instrument} is at job {job_id} until {until_then:%H:%M}, claimed by "
                    "{username}. Release it on the page of that job first."
                ).format(
                    instrument=instrument,
                    job_id=claim.job_id,
                    until_then=until_then,
                    username=claim.by.username,
                ),
            )
        if not made and claim.until < until:
            Claim.objects.filter(pk=claim.pk).update(until=until)
    return claim


def _over(at: datetime) -> QuerySet[Claim]:
    return Claim.objects.filter(Q(until__lte=at) | Q(job__stage__in=CLOSED))


def of(job: Job, at: datetime) -> list[Claim]:
    """Return the claims of a job that last, with their instruments."""
    if job.closed:
        return []
    lasting = Claim.objects.filter(job=job, until__gt=at)
    return list(lasting.select_related("instrument").order_by("instrument__name"))


def release(number: int, job: Job) -> None:
    """Let an instrument go; nothing happens when the job has not claimed it."""
    Claim.objects.filter(instrument_id=number, job=job).delete()
