"""What earlier jobs of a unit left uncleared: it is up again when the unit returns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from checklists.engine.history import Event
from checklists.engine.pack import Pack
from shop.jobs import events, ledger, sheets
from shop.jobs.events.received import Received
from shop.jobs.models import Job, Unit
from shop.jobs.record import Record


def left_up(unit: Unit) -> frozenset[str]:
    """Return the keys of the hazards that the closed jobs of a unit left up, under the pack in force.

    A job that was joined into another has left nothing: the other carries it.
    """
    closed = list(unit.jobs.filter(joined_into=None).exclude(closed_at=None).order_by("number"))
    if not closed:
        return frozenset()
    *earlier, last = closed
    # Older shops had two jobs of a unit at once; what the one did, the other cannot have cleared.
    beside = [job for job in earlier if job.closed_at and job.closed_at > last.received_at]
    return _left_along(closed).union(*(left_by(_record(job)) for job in beside))


def left_by(record: Record) -> frozenset[str]:
    """Return the keys of the hazards of the unit that a job raised, or was handed, and did not clear.

    What only the set-up around the unit clears stays behind with the bench. A key that the pack
    in force does not know is handed on: an edition may know it again.
    """
    checklist = sheets.checklist_for(record)
    pack = checklist.pack
    left = {one.hazard.key for one in checklist.up if one.raised}
    return frozenset(left & _of_the_unit(pack)) | _handed(record) - {h.key for h in pack.hazards}


def _of_the_unit(pack: Pack) -> set[str]:
    return {
        hazard.key
        for hazard in pack.hazards
        if any(not pack.steps[key].of_the_bench for key in hazard.cleared_by)
    }


def _handed(record: Record) -> frozenset[str]:
    return frozenset().union(*(event.carried for event in record.history_events))


def _left_along(jobs: Sequence[Job]) -> frozenset[str]:
    """Return what is left after the last of the jobs, one after the other.

    Jobs received before hazards were carried are looked at from the first of them on.
    """
    chain: list[Record] = []
    for job in reversed(jobs):
        chain.append(_record(job))
        if _tells_what_was_carried(chain[-1].of_type(Received.event_type)):
            break
    left: frozenset[str] = frozenset()
    for place, record in enumerate(reversed(chain)):
        if place:
            record.history_events.insert(0, Event(sequence=0, event_type="received", carried=left))
        left = left_by(record)
    return left


def _tells_what_was_carried(received: Iterable[ledger.AnyRow]) -> bool:
    return any(isinstance(row.data.get("carried"), list) for row in received)


def _record(job: Job) -> Record:
    return events.reduce(job, ledger.read(job))
