"""Clocks are started and stopped."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.jobs import guards
from shop.jobs.models import Job
from shop.lib.refusals import Refused, bad, refuse
from shop.timers.models import Timer

LONGEST_MINUTES = 24 * 60.0


def start(number: int, kind: str, minutes: float | None, *, by: User, at: datetime) -> Timer:
    """Start a clock of a job. A clock of the same kind there, or labour elsewhere, is stopped.

    minutes above 0 up to 1,440; labour takes none.
    """
    roles.require(by, "record")
    _check(kind, minutes)
    with transaction.atomic():
        job = Job.objects.select_for_update().get(pk=number)
        if job.closed:
            raise Refused([guards.job_closed()])
        running = Timer.objects.filter(kind=kind, stopped_at=None)
        same = running.filter(by=by) if kind == Timer.LABOUR else running.filter(job=job)
        same.update(stopped_at=at)
        length = None if kind == Timer.LABOUR else minutes
        return Timer.objects.create(job=job, kind=kind, minutes=length, started_at=at, by=by)


def _check(kind: str, minutes: float | None) -> None:
    kinds = dict(Timer.KINDS)
    if kind not in kinds:
        raise bad(
            "kind",
            _("kind is {kind!r}; it must be one of {these}.").format(
                kind=kind[:40], these=", ".join(kinds)
            ),
        )
    if kind != Timer.LABOUR and (minutes is None or not 0 < minutes <= LONGEST_MINUTES):
        raise bad(
            "minutes",
            _("minutes must be above 0 and at most {longest_minutes:g}.").format(
                longest_minutes=LONGEST_MINUTES
            ),
        )


def stop(timer: Timer, *, by: User, at: datetime) -> None:
    """Stop a clock; labour is stopped by whose it is. One that was stopped stays as it is."""
    roles.require(by, "record")
    if timer.kind == Timer.LABOUR and timer.by_id != by.pk:
        raise refuse(
            "not-yours",
            _("It is the clock of {get_username}.").format(get_username=timer.by.get_username()),
        )
    Timer.objects.filter(pk=timer.pk, stopped_at=None).update(stopped_at=at)
