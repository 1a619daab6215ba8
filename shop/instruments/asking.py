"""Requests to instruments: somebody asks on a page, the worker takes the request and answers it.

No page waits for an instrument. A request that nobody takes, or whose worker died, ends by its
time.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from shop.instruments.models import Connection, Instrument, Request
from shop.lib import soon
from shop.lib.refusals import bad, refuse

TASK = "ask-instruments"
# How long a request waits for the worker, and how long the worker may take over each sort.
WAITS_SECONDS = 60
SECONDS = {Request.FIND: 40.0, Request.TEST: 40.0, Request.READ: 20.0}
_MARGIN = timedelta(seconds=5)
KEPT = timedelta(days=1)


def find(*, by: User, at: datetime) -> Request:
    """Ask for what answers on the lines of this machine."""
    return _made(Request(what=Request.FIND, by=by), at)


def test(instrument: Instrument, *, by: User, at: datetime) -> Request:
    """Ask an instrument who it is and for one reading of each sort."""
    _connection(instrument)
    return _made(Request(what=Request.TEST, instrument=instrument, by=by), at)


def read(
    instrument: Instrument,
    measures: str,
    *,
    by: User,
    at: datetime,
    subject: str = "",
    taken: bool = False,
) -> Request:
    """Ask an instrument for a reading that stands still; Refused when it cannot be asked for it.

    `subject` says what for, in words of whoever asks. `taken`: the worker asks, and answers itself.
    """
    connection = _connection(instrument)
    if instrument.retired_at or not connection.tested:
        raise refuse(
            "not-connected",
            _("{instrument} is not connected; test it on its page first.").format(
                instrument=instrument
            ),
        )
    if measures not in connection.commands:
        raise bad(
            "measures",
            _("{instrument} is not set up to measure {measures}.").format(
                instrument=instrument, measures=measures
            ),
        )
    made = Request(what=Request.READ, instrument=instrument, measures=measures, by=by)
    made.subject = subject
    made.state = Request.RUNNING if taken else Request.WAITING
    return _made(made, at)


def over(
    instrument: Instrument,
    measures: str,
    value: float | None,
    said: str,
    *,
    by: User,
    at: datetime,
    subject: str,
) -> Request:
    """Keep a reading that somebody else has taken from it, such as a browser, as one that is over."""
    state = Request.FAILED if value is None else Request.DONE
    return Request.objects.create(
        what=Request.READ,
        instrument=instrument,
        measures=measures,
        by=by,
        asked_at=at,
        until=at,
        subject=subject,
        state=state,
        value=value,
        said=said,
    )


def _connection(instrument: Instrument) -> Connection:
    found = Connection.objects.filter(instrument=instrument).first()
    if found is None:
        raise refuse(
            "not-connected",
            _("{instrument} has no connection; set it up on its page.").format(
                instrument=instrument
            ),
        )
    if found.at_browser:
        raise refuse(
            "at-browser",
            _("{instrument} is on a serial line of a browser; ask it there.").format(
                instrument=instrument
            ),
        )
    return found


def _made(request: Request, at: datetime) -> Request:
    end_overdue(at)
    request.asked_at, request.until = at, at + timedelta(seconds=WAITS_SECONDS)
    running = request.state == Request.RUNNING
    if running:
        request.until = _end_of(request.what, at)
    try:
        with transaction.atomic():
            request.save(force_insert=True)
    except IntegrityError:
        raise refuse(
            "busy",
            _("{instrument} is being asked already; wait for that answer.").format(
                instrument=request.instrument
            ),
        ) from None
    if not running:
        soon.do(TASK)
    return request


def _end_of(what: str, began: datetime) -> datetime:
    return began + timedelta(seconds=SECONDS[what]) + _MARGIN


def waiting() -> bool:
    """Whether any request waits for the worker."""
    return Request.objects.filter(state=Request.WAITING).exists()


def take_next(now: datetime) -> Request | None:
    """Take the request that has waited longest; None when none waits. Two workers take two."""
    for key in Request.objects.filter(state=Request.WAITING).values_list("pk", "what")[:20]:
        mine = Request.objects.filter(pk=key[0], state=Request.WAITING)
        if mine.update(state=Request.RUNNING, until=_end_of(key[1], now)):
            return Request.objects.select_related("instrument__connection").get(pk=key[0])
    return None


def end(request: Request, state: str, **outcome: object) -> bool:
    """Write how a request ended; False when it was over before."""
    running = Request.objects.filter(pk=request.pk, state=Request.RUNNING)
    return bool(running.update(state=state, **outcome))


def looked_at(found: QuerySet[Request], now: datetime) -> Request | None:
    """Return the last of these as it stands now; one whose time is over has ended. Most looks only read."""
    last = found.last()
    if last is not None and last.open and last.until < now:
        end_overdue(now)
        return found.last()
    return last


def end_overdue(now: datetime) -> None:
    """End what nobody took or nobody brought to an end, and drop what is old."""
    overdue = Request.objects.filter(until__lt=now)
    overdue.filter(state=Request.WAITING).update(
        state=Request.FAILED,
        said="The worker did not take it. Does it run, on the machine that the instrument is at?",
    )
    overdue.filter(state=Request.RUNNING).update(
        state=Request.FAILED, said="The worker broke off. Ask again."
    )
    Request.objects.filter(asked_at__lt=now - KEPT).exclude(
        Q(state=Request.WAITING) | Q(state=Request.RUNNING)
    ).delete()
