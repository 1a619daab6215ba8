"""Which job's plug is in an outlet: one job at a time, told by scanning the outlet's label."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from shop.accounts import roles
from shop.jobs.models import Job
from shop.outlets.models import Outlet

ABILITY = "move"


def claim(outlet: int, job: int, *, by: User, at: datetime) -> str:
    """Let a job claim an outlet, and return a sentence about what came of it.

    A second job that claims it takes it from the first and does not get it: nobody can tell whose
    plug is in, so the enable falls until one of them scans again. A job that claims another outlet
    leaves its first. Outlet.DoesNotExist and Job.DoesNotExist for numbers of none.
    """
    roles.require(by, ABILITY)
    with transaction.atomic():
        wanted = Outlet.objects.select_for_update().get(pk=outlet)
        claiming = Job.objects.select_related("unit").get(pk=job)
        if claiming.closed:
            return f"Job {job} is closed; it claims no outlet."
        holder = wanted.claimed_by_job
        if holder is not None and holder.pk == job:
            return f"Job {job} claims {wanted} already."
        if holder is not None and not holder.closed:
            return _dispute(wanted, holder.pk, job)
        Outlet.objects.filter(claimed_by_job=job).update(claimed_by_job=None, claimed_at=None)
        _store(wanted, claiming, at, "")
        return f"The plug of job {job} is in {wanted}."


def _dispute(outlet: Outlet, first: int, second: int) -> str:
    lost = f"Job {first} claimed it, then job {second} did."
    _store(outlet, None, None, lost)
    return (
        f"{lost} Neither has it now, and its enable is withdrawn. Pull both plugs and look; then scan"
        " the label again for the unit that goes in."
    )


def give_up(outlet: int, *, by: User) -> None:
    """End a claim: the plug is in another place. Never refused, and nothing about mains is recorded."""
    roles.require(by, "isolate")
    Outlet.objects.filter(pk=outlet).update(claimed_by_job=None, claimed_at=None, claim_lost="")


def _store(outlet: Outlet, job: Job | None, at: datetime | None, lost: str) -> None:
    outlet.claimed_by_job, outlet.claimed_at, outlet.claim_lost = job, at, lost
    outlet.save(update_fields=["claimed_by_job", "claimed_at", "claim_lost"])
