"""Mains off that could not be recorded: kept by this process, and written once the database answers.

Written only while the permit stands under which it was said, and not for long: what was true of
the plug then need not be true under another permit, or an hour later. Dropped aloud otherwise.
"""

from __future__ import annotations

import logging
import threading
import time
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.core.cache import cache
from django.db import DatabaseError, InterfaceError, OperationalError, connection
from django.utils import timezone

from shop.jobs import guards
from shop.jobs.commands.transaction import JobTransaction, job_transaction
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.models import Job, Permit
from shop.lib.web.busy_database import Postponed

LONGEST = timedelta(minutes=15)
_PAUSE_SECONDS = 1.0
_SHOWN = timedelta(hours=12)
_DROPPED = "jobs/mains-off-dropped"

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Said:
    """That mains is off a job: by whom, when, and under which permit it was on."""

    job: int
    permit: int
    # The newest row that whoever said it had before the eyes; None when that is not known.
    seen: int | None
    by: User
    at: datetime

    def __str__(self) -> str:
        return (
            f"Mains off of job {self.job}, said at {_clock(self.at)} by {self.by.get_username()},"
        )


@dataclass(frozen=True)
class Notice:
    """A sentence for the home page about what was said of a job."""

    job: int
    sentence: str


_waiting: dict[int, Said] = {}
_lock = threading.Lock()


def live_permit(number: int) -> int | None:
    """Return the permit under which a job has mains now."""
    live = Permit.objects.filter(job=number, ended_at=None)
    return live.values_list("pk", flat=True).first()


def keep(said: Said, error: Exception) -> Postponed:
    """Keep what could not be recorded, and return the error that says so."""
    with _lock:
        first = not _waiting
        _waiting.setdefault(said.permit, said)
    if first:
        start()
    return Postponed(*error.args)


def start() -> None:
    """Let a thread write what is kept as soon as it can be."""
    threading.Thread(target=_until_written, name="mains-off", daemon=True).start()


def _until_written() -> None:
    while _waiting:
        time.sleep(_PAUSE_SECONDS)
        write(now=timezone.now())
        connection.close()


def write(*, now: datetime) -> None:
    """Try once to record what is kept; what the database does not take yet stays kept."""
    for said in list(_waiting.values()):
        try:
            _write(said, now)
        except (OperationalError, InterfaceError) as error:
            log.info("%s is not recorded yet: %s", said, error)
        except (DatabaseError, Job.DoesNotExist) as error:
            _drop(said, f"was not recorded: {error}. Record it again.")


def _write(said: Said, now: datetime) -> None:
    with job_transaction(said.job, by=said.by, at=now) as tx:
        stands = live_permit(said.job) == said.permit and not _of_before(tx, said)
        late = now - said.at > LONGEST
        if stands and not late:
            tx.take_mains_off(because="taken off by hand")
            tx.write(NoteAdded(text=f"{said} is recorded late: the database did not take it."))
        elif tx.job.energised:
            tx.write(NoteAdded(text=f"{said} {_why_not(late=late)}"))
    if stands and not late:
        _forget(said)
    else:
        off = "was not needed any more: the record says that mains is off."
        _drop(said, _why_not(late=late) if tx.job.energised else off)


def _of_before(tx: JobTransaction, said: Said) -> bool:
    """Whether it was said of an earlier mains, by a page of before."""
    return said.seen is not None and bool(guards.against_late_isolation(tx.record, said.seen))


def _why_not(*, late: bool) -> str:
    told = "too long ago" if late else "of another permit"
    return f"was not recorded: it was said {told}. Mains counts as on; record it again."


def _drop(said: Said, why: str) -> None:
    sentence = f"{said} {why}"
    log.warning("%s", sentence)
    told = [*cache.get(_DROPPED, []), Notice(said.job, sentence)]
    cache.set(_DROPPED, told[-20:], timeout=_SHOWN.total_seconds())
    _forget(said)


def _forget(said: Said) -> None:
    with _lock:
        _waiting.pop(said.permit, None)


def notices() -> list[Notice]:
    """Return what is kept and what was dropped, as sentences for people."""
    kept = [
        Notice(said.job, f"{said} is not recorded yet: the database does not take it.")
        for said in list(_waiting.values())
    ]
    return [*kept, *cache.get(_DROPPED, [])]


def _clock(moment: datetime) -> str:
    return f"{timezone.localtime(moment):%H:%M}"
