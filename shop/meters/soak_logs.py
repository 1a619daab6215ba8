"""Soaks log by themselves: at each planned time the chosen instruments are read.

A reading that could not be taken is a gap. It is told in the record with its reason, and never
filled in. The worker does a round every minute; a planned reading may be five minutes late.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.bench.electrical.soak import READING_MINUTES
from shop.bench.units import spoken, unit_of
from shop.instruments import answering, asking
from shop.instruments.models import Instrument, Request
from shop.instruments.queries import reads, source
from shop.jobs import commands, queries, soaking
from shop.jobs.models import Job
from shop.lib import typed_numbers
from shop.lib.prepared import Prepared
from shop.lib.refusals import Forbidden, UserFacingError, bad
from shop.meters import claims
from shop.meters.models import SoakLog

log = logging.getLogger(__name__)
TASK = "log-soaks"
_OVER = 1e9
_OF_JOB = Prepared(lambda number: SoakLog.objects.filter(job=number), int, related=("instrument",))


def choose(job: Job, chosen: Mapping[str, object], *, by: User, at: datetime) -> None:
    """Let instruments (by number; empty: none) log quantities of a job's soak, and claim them.

    BadInput for one that cannot; Refused while another job has it. A quantity that is not named
    stays as it is.
    """
    roles.require(by, "record")
    with transaction.atomic():
        for quantity, number in chosen.items():
            if quantity not in soaking.MEASURES:
                wanted = ", ".join(soaking.MEASURES)
                raise bad(
                    "quantity",
                    _("quantity is {quantity}; it must be one of {wanted}.").format(
                        quantity=quoted(quantity), wanted=wanted
                    ),
                )
            _choose(job, quantity, number, by=by, at=at)


def _choose(job: Job, quantity: str, number: object, *, by: User, at: datetime) -> None:
    kept = SoakLog.objects.filter(job=job, quantity=quantity)
    if number in (None, ""):
        kept.delete()
        return
    found = Instrument.objects.filter(pk=number).first() if isinstance(number, int) else None
    unread = found is None or not reads(found, soaking.MEASURES[quantity])
    if found is None or unread or found.connection.at_browser:
        raise bad(
            quantity,
            _("{quantity} names no instrument that is connected and reads this.").format(
                quantity=quantity
            ),
        )
    claims.take(found, job, by=by, at=at)
    if not kept.filter(instrument=found).exists():
        kept.delete()
        SoakLog.objects.create(job=job, quantity=quantity, instrument=found, by=by, chosen_at=at)


def of(job: Job) -> list[SoakLog]:
    """Return what logs the soak of a job."""
    return _OF_JOB(job.number)


def log_soaks(*, now: datetime) -> int:
    """Read what is due and tell what is missing; returns how many rows were written."""
    written = 0
    rows = SoakLog.objects.select_related("job__unit", "instrument__connection", "by")
    for one in rows:
        try:
            written += _follow(one, now)
        except (UserFacingError, Forbidden) as error:
            # The soak ended meanwhile, or whoever chose it may record no longer.
            log.warning("The soak of job %s is not logged: %s", one.job_id, error)
    return written


def _follow(one: SoakLog, now: datetime) -> int:
    traveller = queries.Traveller.of(one.job)
    run = soaking.soak_of(traveller.record, traveller.checklist)
    if run is None or run.state != "running":
        _let_go_if_over(one)
        return 0
    plan = run.plan.reading_minutes
    if one.began != run.run.started_at:
        _begin(one, run)
    try:
        claims.take(one.instrument, one.job, by=one.by, at=now)
    except UserFacingError as error:
        _note_why(one, str(error))
    elapsed = run.run_minutes(now)
    due = [minute for minute in plan if one.next_minute <= minute <= elapsed]
    missed = [minute for minute in due if elapsed > minute + READING_MINUTES]
    written = _tell_gap(one, run, missed, now) if missed else 0
    late = [minute for minute in due if minute not in missed]
    return written + (_read(one, run, late[-1]) if late else 0)


def _let_go_if_over(one: SoakLog) -> None:
    if one.began is not None or one.job.closed:
        one.delete()
        if not SoakLog.objects.filter(job=one.job, instrument=one.instrument).exists():
            claims.release(one.instrument_id, one.job)


def _begin(one: SoakLog, run: soaking.Soak) -> None:
    """Begin with the start; what was due before it was chosen is no gap of its own."""
    elapsed = max(0.0, (one.chosen_at - run.run.started_at) / timedelta(minutes=1))
    minutes = run.plan.reading_minutes
    one.began, one.why = run.run.started_at, ""
    one.next_minute = next((m for m in minutes if elapsed <= m + READING_MINUTES), _OVER)
    one.save(update_fields=["began", "next_minute", "why"])


def _after(run: soaking.Soak, minute: float) -> float:
    return next((m for m in run.plan.reading_minutes if m > minute), _OVER)


def _read(one: SoakLog, run: soaking.Soak, minute: float) -> int:
    """Take the reading that is due; a try that gives none is made again in the next round."""
    if _by_hand(one, run, minute):
        _advance(one, minute, _after(run, minute))
        return 0
    measures = soaking.MEASURES[one.quantity]
    try:
        claims.take(one.instrument, one.job, by=one.by, at=timezone.now())
        request = asking.read(
            one.instrument,
            measures,
            by=one.by,
            at=timezone.now(),
            subject=f"{one.job_id} soak {one.quantity}",
            taken=True,
        )
    except UserFacingError as error:
        _note_why(one, str(error))
        return 0
    answering.answer(Request.objects.select_related("instrument__connection").get(pk=request.pk))
    request.refresh_from_db()
    if request.value is None:
        _note_why(one, request.said)
        return 0
    return _write(one, run, minute, request.value)


def _by_hand(one: SoakLog, run: soaking.Soak, minute: float) -> bool:
    """Whether somebody has read it for this time already."""
    return any(
        abs(reading.minutes - minute) <= READING_MINUTES
        for reading in run.readings
        if reading.quantity == one.quantity
    )


def _write(one: SoakLog, run: soaking.Soak, minute: float, value: float) -> int:
    unit, now = unit_of(one.quantity), timezone.now()
    said = source(one.instrument, soaking.MEASURES[one.quantity], value, timezone.localdate(now))
    data = {
        "quantity": one.quantity,
        "value": float(f"{value / typed_numbers.factor_of(unit):.6g}"),
        "unit": unit,
        "source": f"{said}, by itself"[:300],
    }
    with transaction.atomic():
        if not _advance(one, minute, _after(run, minute)):
            return 0
        commands.record(one.job_id, "soak_reading", data, by=one.by, at=now)
    return 1


def _tell_gap(one: SoakLog, run: soaking.Soak, missed: list[float], now: datetime) -> int:
    """Write that planned readings are missing, and why; nothing is put in their place."""
    gone = [minute for minute in missed if not _by_hand(one, run, minute)]
    times = ", ".join(f"{minute:g}" for minute in gone)
    why = one.why or "The worker did not run then."
    text = f"Soak: no {spoken(one.quantity)} at {times} min from {one.instrument}. {why}"
    with transaction.atomic():
        if not _advance(one, missed[-1], _after(run, missed[-1])) or not gone:
            return 0
        commands.record(one.job_id, "note_added", {"text": text}, by=one.by, at=now)
    return 1


def _advance(one: SoakLog, minute: float, to: float) -> bool:
    """Go on to the next planned time; False when another worker has gone on already."""
    mine = SoakLog.objects.filter(pk=one.pk, began=one.began, next_minute__lte=minute)
    moved = bool(mine.update(next_minute=to, why=""))
    if moved:
        one.next_minute, one.why = to, ""
    return moved


def _note_why(one: SoakLog, why: str) -> None:
    one.why = why[:300]
    SoakLog.objects.filter(pk=one.pk).update(why=one.why)
