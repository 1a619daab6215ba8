"""The checklist of a job as it stands, under the published pack."""

from __future__ import annotations

from checklists import published
from checklists.engine.checklist import Checklist
from checklists.engine.deduced import with_deduced
from checklists.engine.derive import derive
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.jobs.stages import Stage, Waiting
from shop.preferences import current as preferences


def checklist_for(record: Record) -> Checklist:
    """Derive the job's checklist from its record."""
    two_people = preferences.value("second_person")
    facts, history = with_deduced(record.facts), record.history
    return derive(published.current(), facts, history, two_people=two_people)


def waiting_on(job: Job, record: Record) -> str:
    """Return what the job waits on; "" once it is closed.

    A job whose patience has run out waits on nobody: that depends on the clock and is added
    where jobs are read.
    """
    if job.closed:
        return ""
    if job.stage == Stage.SOAKING and record.soak == "running":
        return Waiting.SOAK_CLOCK
    if record.estimate == "sent":
        return Waiting.CUSTOMER
    declined = record.estimate == "no"
    if job.stage == Stage.AWAITING_PARTS and record.outstanding_required and not declined:
        return Waiting.PARTS
    return Waiting.HANDS
