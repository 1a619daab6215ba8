"""A reading of an instrument that belongs to no step: for the soak that runs, or by a name of its own."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.engine.metering import TEMPERATURE
from checklists.engine.quoting import quoted
from checklists.engine.words import MEASURED
from shop.accounts import roles
from shop.bench.units import unit_of
from shop.instruments import asking
from shop.instruments.models import Instrument, Request
from shop.instruments.queries import reads, source
from shop.jobs import commands, queries, soaking
from shop.jobs.models import Job, LedgerRow
from shop.lib import text, typed_numbers
from shop.lib.refusals import bad, refuse
from shop.meters import claims

_FIGURES = 6


def ask(number: int, measures: str, instrument: int, *, by: User, at: datetime) -> Request:
    """Ask an instrument for a reading of a job. Refused for volts and amperes with mains off.

    A lead that came off reads a still 0 there, which would look like proof.
    """
    roles.require(by, "record")
    job = queries.job(number, at)
    if job.closed:
        raise refuse("closed", _("The job is closed; a unit that comes back is a new job."))
    if measures != TEMPERATURE and not job.energised:
        raise refuse(
            "read-by-hand",
            _("With mains off a lead that came off reads a still 0: read it by eye and type it."),
        )
    found = Instrument.objects.filter(pk=instrument).first()
    if found is None or not reads(found, measures):
        raise bad("read", _("read names no instrument that is connected and reads this."))
    with transaction.atomic():
        claims.take(found, job, by=by, at=at)
        return asking.read(found, measures, by=by, at=at, subject=_subject(number))


def _subject(number: int) -> str:
    return f"{number} free"


def asked_for(number: int, request: int, at: datetime) -> Request | None:
    """Return a request that was made for this job; None when there is none."""
    found = Request.objects.select_related("instrument").filter(pk=request)
    return asking.looked_at(found.filter(subject=_subject(number)), at)


def soak_quantities(job: Job, measures: str) -> list[str]:
    """Return what of a soak that runs such a reading can be; empty where none runs."""
    if queries.record_of(job).soak != "running":
        return []
    return [name for name, measured in soaking.MEASURES.items() if measured == measures]


def record(job: Job, request: Request, name: str, *, by: User, at: datetime) -> LedgerRow:
    """Write a reading that stood still into the record, with its instrument, once.

    `name` is a quantity of the soak that runs, or words of whoever measured. BadInput without
    a name or a value.
    """
    if request.value is None or request.instrument is None:
        raise bad("reading", _("The reading has no value; read it again."))
    kept = text.take("name", name, 200, needed=True)
    said = source(request.instrument, request.measures, request.value, timezone.localdate(at))
    of_soak = kept in soak_quantities(job, request.measures)
    unit = unit_of(kept) if of_soak else MEASURED[request.measures][1]
    value = float(f"{request.value / typed_numbers.factor_of(unit):.{_FIGURES}g}")
    data = {"quantity": kept, "value": value, "unit": unit, "source": said[:300]}
    taken = Request.objects.filter(pk=request.pk, subject=_subject(job.number))
    if not taken.update(subject=f"{job.number} recorded"):
        raise refuse(
            "recorded",
            _("{kept}: this reading is in the record already.").format(kept=quoted(kept)),
        )
    return commands.record(
        job.number, "soak_reading" if of_soak else "reading_taken", data, by=by, at=at
    )
