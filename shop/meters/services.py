"""Asking an instrument for a reading of a job: what may be read so, and by which instrument."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from checklists.engine import metering
from checklists.engine.checklist import ListedStep
from checklists.engine.judging import PASS
from checklists.engine.listed import ListedReading
from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.instruments import answering, asking
from shop.instruments.models import Instrument, Request
from shop.instruments.queries import reads
from shop.jobs import guards, queries
from shop.jobs.commands.signing import NotListed
from shop.jobs.models import Job
from shop.lib.refusals import Refused, bad, refuse
from shop.meters import claims


def ask_for_step(
    number: int, key: str, quantity: str, instrument: int, *, by: User, at: datetime
) -> Request:
    """Ask an instrument for a reading of a step. Nothing is signed and nothing recorded by it.

    `instrument` by its number. Refused for a step whose readings a person takes (`metering`),
    in the wrong state of the unit, and while another job has the instrument. NotListed and
    BadInput name what there is not.
    """
    job, reading = _may_be_read(number, key, quantity, by=by, at=at)
    found = _instrument(instrument, reading.measures)
    with transaction.atomic():
        claims.take(found, job, by=by, at=at)
        about = subject(number, key, quantity)
        return asking.read(found, reading.measures, by=by, at=at, subject=about)


def take_for_step(
    number: int,
    key: str,
    quantity: str,
    instrument: int,
    answers: Sequence[tuple[float, str]],
    *,
    by: User,
    at: datetime,
) -> Request | None:
    """Judge what the browser has from an instrument on its serial line; as `ask_for_step`.

    `answers` with their times in seconds. None while no value stands still; a request that is
    over when one does, or when none will.
    """
    job, reading = _may_be_read(number, key, quantity, by=by, at=at)
    found = _instrument(instrument, reading.measures)
    if not found.connection.at_browser:
        raise bad("read", _("{found} is not on a serial line of a browser.").format(found=found))
    claims.take(found, job, by=by, at=at)
    outcome = answering.judged(found, reading.measures, answers)
    if outcome is None:
        return None
    about = subject(number, key, quantity)
    return asking.over(found, reading.measures, *outcome, by=by, at=at, subject=about)


def _may_be_read(
    number: int, key: str, quantity: str, *, by: User, at: datetime
) -> tuple[Job, ListedReading]:
    roles.require(by, "sign")
    job = queries.job(number, at)
    traveller = queries.Traveller.of(job)
    listed = traveller.checklist.by_key.get(key)
    if listed is None:
        raise NotListed(
            _("{key} is not on the checklist of job {number}.").format(
                key=quoted(key), number=number
            )
        )
    reading = _reading(listed, quantity)
    why_not = metering.why_not(traveller.checklist.pack, listed.step, reading.measures)
    if why_not:
        raise refuse("read-by-hand", f"{reading.title}: {why_not}")
    against = guards.against_signing(job, traveller.checklist, listed, PASS)
    if state := [refusal for refusal in against if not refusal.step]:
        raise Refused(state)
    return job, reading


def _reading(listed: ListedStep, quantity: str) -> ListedReading:
    found = {reading.quantity: reading for reading in listed.readings}.get(quantity)
    if found is None:
        raise bad(
            "read",
            _("read has {quantity}; this step has no such reading.").format(
                quantity=quoted(quantity)
            ),
        )
    return found


def _instrument(number: int, measures: str) -> Instrument:
    found = Instrument.objects.filter(pk=number).first()
    if found is None or not reads(found, measures):
        raise bad("read", _("read names no instrument that is connected and reads this."))
    return found


def subject(number: int, key: str, quantity: str) -> str:
    """Return what a request is for, so that its value comes into no other field."""
    return f"{number} {key} {quantity}"


def asked_for(number: int, key: str, quantity: str, request: int, at: datetime) -> Request | None:
    """Return a request that was made for this field; None when there is none."""
    found = Request.objects.select_related("instrument").filter(
        pk=request, subject=subject(number, key, quantity)
    )
    return asking.looked_at(found, at)
