"""Every type of event that stands in a ledger: one module each, and this list.

A new type is a module with a class, named here. DEVELOPERS.md walks through one.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.utils.translation import gettext as _

from checklists.engine import history
from checklists.engine.history import WITHDRAWABLE
from checklists.engine.quoting import quoted
from shop.jobs.events import stored
from shop.jobs.events.base import Event
from shop.jobs.events.bill_credited import BillCredited
from shop.jobs.events.bill_issued import BillIssued
from shop.jobs.events.bill_paid import BillPaid
from shop.jobs.events.complaint_recorded import ComplaintRecorded
from shop.jobs.events.cover_fitted import CoverFitted
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.events.curve_measured import CurveMeasured
from shop.jobs.events.customer_told import CustomerTold
from shop.jobs.events.entry_withdrawn import EntryWithdrawn
from shop.jobs.events.estimate_answered import EstimateAnswered
from shop.jobs.events.estimate_sent import EstimateSent
from shop.jobs.events.fact_recorded import FactRecorded
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.intake_corrected import IntakeCorrected
from shop.jobs.events.jobs_joined import JobsJoined
from shop.jobs.events.limit_agreed import LimitAgreed
from shop.jobs.events.nights import Nights
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.events.part_arrived import PartArrived
from shop.jobs.events.part_fitted import PartFitted
from shop.jobs.events.part_lost import PartLost
from shop.jobs.events.part_needed import PartNeeded
from shop.jobs.events.part_ordered import PartOrdered
from shop.jobs.events.part_specified import PartSpecified
from shop.jobs.events.permit_granted import PermitGranted
from shop.jobs.events.photo_added import PhotoAdded
from shop.jobs.events.plug_doubted import PlugDoubted
from shop.jobs.events.power_applied import PowerApplied
from shop.jobs.events.power_removed import PowerRemoved
from shop.jobs.events.promise_made import PromiseMade
from shop.jobs.events.question_asked import QuestionAsked
from shop.jobs.events.question_replied import QuestionReplied
from shop.jobs.events.reading import build
from shop.jobs.events.reading_taken import ReadingTaken
from shop.jobs.events.received import Received
from shop.jobs.events.released import Released
from shop.jobs.events.round_finished import RoundFinished
from shop.jobs.events.shipped import Shipped
from shop.jobs.events.soak_ended import SoakEnded
from shop.jobs.events.soak_reading import SoakReading
from shop.jobs.events.soak_started import SoakStarted
from shop.jobs.events.stage_changed import StageChanged
from shop.jobs.events.step_signed import StepSigned
from shop.jobs.events.step_waived import StepWaived
from shop.jobs.events.suspect_changed import SuspectChanged
from shop.jobs.events.trial_run import TrialRun
from shop.jobs.events.withdrawn import Withdrawn
from shop.jobs.events.work_done import WorkDone
from shop.jobs.ledger import AnyRow, Row
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.lib.refusals import bad

# In the order in which pages and sentences offer them.
EVENTS: list[type[Event]] = [
    FactRecorded,
    ComplaintRecorded,
    FindingRecorded,
    WorkDone,
    TrialRun,
    PartNeeded,
    PartSpecified,
    PartOrdered,
    PartArrived,
    PartLost,
    PartFitted,
    SuspectChanged,
    PromiseMade,
    SoakStarted,
    SoakReading,
    SoakEnded,
    RoundFinished,
    ReadingTaken,
    CurveMeasured,
    LimitAgreed,
    EstimateSent,
    EstimateAnswered,
    QuestionReplied,
    Shipped,
    NoteAdded,
    EntryWithdrawn,
    PlugDoubted,
    Received,
    StageChanged,
    StepSigned,
    StepWaived,
    PermitGranted,
    PowerApplied,
    PowerRemoved,
    CoverRemoved,
    CoverFitted,
    PhotoAdded,
    CustomerTold,
    QuestionAsked,
    Released,
    Withdrawn,
    IntakeCorrected,
    JobsJoined,
    BillIssued,
    BillCredited,
    BillPaid,
]
_BY_TYPE = {event.event_type: event for event in EVENTS}


class Unknown(Event):
    """A row of a type that this edition does not know; it is shown as it stands."""

    event_type = ""
    people_write_it = False

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say that it could be anything: it ends the sign-offs before it."""
        return _unreadable(row)


def find(event_type: str) -> type[Event]:
    """Return the type of event of this name; `Unknown` when no module has it."""
    known = _BY_TYPE.get(event_type)
    if known is not None:
        return known
    return next((event for event in EVENTS if event.event_type == event_type), Unknown)


def read(event_type: object, data: object) -> Event:
    """Return the event that people want to write; BadInput names every field that is wrong."""
    event = find(event_type) if isinstance(event_type, str) else Unknown
    if not event.people_write_it:
        names = ", ".join(known.event_type for known in written_by_people())
        raise bad(
            "kind",
            _("kind is {event_type}; it must be one of {names}.").format(
                event_type=quoted(event_type), names=names
            ),
        )
    return build(event, data)


def written_by_people() -> list[type[Event]]:
    """Return the types that people write as rows of their own."""
    return [event for event in EVENTS if event.people_write_it]


def reduce(job: Job, rows: Sequence[AnyRow], *, now: datetime | None = None) -> Record:
    """Return the record of a job from its rows, oldest first, as it stands `now` (aware).

    No row makes it fail. What cannot be read of a row changes nothing, and ends the sign-offs
    before it where it may have been something that ends one. Without `now`, the nights since the
    last row do not count.
    """
    record = Record(job=job, rows=rows, withdrawn=_withdrawn(rows))
    nights = Nights()
    for row in rows:
        event = find(row.event_type)
        happened = _for_history(event, row)
        record.history_events += nights.before(happened)
        record.history_events.append(happened)
        try:
            if row.sequence in record.withdrawn:
                event.reduce_withdrawn(record, row)
            else:
                event.reduce(record, row)
        except stored.ODD:
            continue
    if now is not None:
        record.history_events += nights.until(now)
    return record


def _withdrawn(rows: Sequence[AnyRow]) -> frozenset[int]:
    """Return the rows that later rows withdraw, of the types that can be withdrawn."""
    types = {row.sequence: row.event_type for row in rows}
    found = set()
    for row in rows:
        if row.event_type == EntryWithdrawn.event_type:
            target = stored.whole(row.data, "row") or 0
            if target < row.sequence and types.get(target) in WITHDRAWABLE:
                found.add(target)
    return frozenset(found)


def _for_history(event: type[Event], row: AnyRow) -> history.Event:
    if not isinstance(row, Row):
        return _in_history(event, row)
    if row.happened is None:
        row.happened = _in_history(event, row)
    return row.happened


def _in_history(event: type[Event], row: AnyRow) -> history.Event:
    if row.at is None:  # it was altered, and nobody can tell which night it was
        return _unreadable(row)
    try:
        return event.for_history(row)
    except stored.ODD:
        return _unreadable(row)


def _unreadable(row: AnyRow) -> history.Event:
    return history.Event(
        sequence=row.sequence,
        event_type=row.event_type,
        at=row.at,
        by=row.by_name,
        unreadable=True,
    )


def words(row: AnyRow) -> list[str]:
    """Return what a row says, as short parts; one that cannot be read is shown as it stands."""
    try:
        return find(row.event_type).words(row.data)
    except stored.ODD:
        return stored.words(row.data)


def line(row: AnyRow, record: Record) -> str:
    """Return what a row says as one line of a document."""
    try:
        return find(row.event_type).line(row.data, record)
    except stored.ODD:
        return "; ".join(stored.words(row.data))


def measured(row: AnyRow) -> list[stored.Data]:
    """Return the readings of a row that have a quantity and a value."""
    try:
        readings = find(row.event_type).measured(row.data)
        return [reading for reading in readings if stored.is_reading(reading)]
    except stored.ODD:
        return []
