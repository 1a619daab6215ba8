"""Why a move is refused: every guard returns the list of reasons, empty when there is none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.engine import acts, doing, exposures
from checklists.engine.acts import Work
from checklists.engine.doing import Reason, State
from checklists.engine.history import DOUBTED, MAINS_ON
from checklists.engine.roles import ReadingRole, StepRole
from shop.bench.statistics.intermittent import SHORTEST_TRY_SECONDS
from shop.jobs import names
from shop.jobs.stages import CLOSED, FOLLOWS, Cover, Power, Stage
from shop.lib import languages
from shop.lib.refusals import Refusal

if TYPE_CHECKING:
    from checklists.engine.checklist import Checklist, ListedStep
    from checklists.engine.judging import Judged
    from shop.jobs.ledger import AnyRow
    from shop.jobs.models import Job
    from shop.jobs.record import Record

# A run of 3 h 59 min is written down as 4 h.
_ROUNDED_HOURS = 0.05


def job_closed() -> Refusal:
    """Return the reason against whatever a closed job no longer takes."""
    return Refusal("closed", _("The job is closed; a unit that comes back is a new job."))


def only_notes() -> Refusal:
    """Return the reason against entries by people in a closed job."""
    return Refusal("closed", _("The job is closed; only notes can be added."))


def _told(reasons: list[Reason]) -> list[Refusal]:
    """Return reasons of the engine as refusals."""
    return [_refusal(reason) for reason in reasons]


def _refusal(reason: Reason) -> Refusal:
    if reason.hindrance is None:
        return Refusal(reason.code, reason.sentence)
    step = reason.hindrance.step
    return Refusal(reason.code, reason.sentence, step.key, step.step.title, step.state)


def state_of(job: Job) -> State:
    """Return power and cover of a job's unit as the engine asks for them."""
    return State(str(job.power), str(job.cover), treat_as_live=job.unplug_due)


def against_exposure(exposure: str, checklist: Checklist) -> list[Refusal]:
    """Return one refusal for each step that has to stand before an exposure begins."""
    return _told(doing.against_exposure(exposure, checklist))


def against_lasting(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    """Reasons against the power that the unit has, looked at again after an event."""
    soaking = record.soak == "running"
    cover_off = job.cover == Cover.OFF
    met = exposures.of_power(str(job.power), cover_off=cover_off, soaking=soaking)
    return against_twin_job(job) + _told([doing.hold(h) for h in exposures.lasting(met, checklist)])


def against_power(job: Job, record: Record, checklist: Checklist, to: Power) -> list[Refusal]:
    """Reasons against applying limited or full power. Isolating has no guard."""
    if job.closed:
        return [job_closed()]
    reasons = acts.against_power(state_of(job), checklist, str(to))
    return against_twin_job(job) + _told(reasons)


def against_late_isolation(record: Record, seen: int) -> list[Refusal]:
    """Reasons against mains off that was said of an earlier mains: what was `seen` lies before this one.

    Taking mains off itself is never asked. But what is told late, by a page of before or a
    request that is sent again, would say of a live unit that it is off.
    """
    on = _mains_came_on(record)
    if on is None or on.sequence <= seen:
        return []
    sentence = _(
        "This was said of an earlier mains; mains came on again at {hour} on {day} by {name}. "
        "Nothing was recorded. If the plug is out now, say so again."
    )
    when = timezone.localtime(on.at)
    day = languages.moment(when, "d M")
    said = sentence.format(hour=f"{when:%H:%M}", day=day, name=on.by_name)
    return [Refusal("late-isolation", said)]


def _mains_came_on(record: Record) -> AnyRow | None:
    """Return the row with which the mains of now, or of the plug that is due, came on."""
    on, was_off = None, True
    for row in record.rows:
        if row.event_type in (MAINS_ON, DOUBTED):
            on = row if was_off else on
            was_off = False
        elif row.event_type == "power_removed":
            was_off = True
    return on


def against_twin_job(job: Job) -> list[Refusal]:
    """Reasons against mains, and against leaving, while a second job of the same unit is open."""
    if not job.twins:
        return []
    numbers = _(" and ").join(map(str, job.twins))
    sentence = _("The unit has another open job, {numbers}. Join them first.")
    return [Refusal("two-jobs", sentence.format(numbers=numbers))]


def _against_live_twin(job: Job) -> list[Refusal]:
    """Reasons against hands while the unit has mains by another job: older shops may have had that."""
    sentence = _("Mains is on by job {number} of the same unit. Take it off there first.")
    return [Refusal("energised", sentence.format(number=other)) for other in job.live_twins()]


def against_cover_off(job: Job, checklist: Checklist) -> list[Refusal]:
    """Reasons against taking the cover off."""
    if job.closed:
        return [job_closed()]
    return _against_live_twin(job) + _told(acts.against_cover_off(state_of(job), checklist))


def against_cover_on(job: Job) -> list[Refusal]:
    """Reasons against putting the cover on."""
    return _told(acts.against_cover_on(state_of(job)))


def against_work(job: Job, checklist: Checklist, work: Work) -> list[Refusal]:
    """Reasons against work and fitting, by its marks: by a hand in the unit, or otherwise."""
    twin = _against_live_twin(job) if work.by_hand else []
    return twin + _told(acts.against_work(state_of(job), checklist, work))


def against_correcting(job: Job) -> list[Refusal]:
    """Reasons against withdrawing an entry: the plug comes first when it may still be in."""
    return _told(doing.unplug(state_of(job)))


def against_doubting(job: Job) -> list[Refusal]:
    """Reasons against saying that the plug may be in after all."""
    return _told(doing.known_live(state_of(job)))


def against_stage(job: Job, record: Record, checklist: Checklist, to: Stage) -> list[Refusal]:
    """Reasons against a stage; first whether it can follow at all, then what it asks for."""
    here = Stage(job.stage)
    if here in CLOSED:
        return [job_closed()]
    if to not in FOLLOWS[here]:
        ways = ", ".join(map(_stage, FOLLOWS[here]))
        sentence = _("From {here} a job can go to {ways}, not to {stage}.").format(
            here=_stage(here), ways=ways, stage=_stage(to)
        )
        return [Refusal("no-way", sentence)]
    asked = {
        Stage.AWAITING_PARTS: _against_shelf,
        Stage.REASSEMBLED: _against_reassembled,
        Stage.SOAKING: _against_soak,
        Stage.RELEASED: _against_release,
        Stage.WITHDRAWN: _against_hand_back,
    }
    guard = asked.get(to)
    reasons = against_twin_job(job) if to in CLOSED else []
    return reasons + (guard(job, record, checklist) if guard else [])


def _stage(stage: Stage) -> str:
    """Return a stage by the name that programs use too, or as pages in other languages call it."""
    return str(stage) if languages.is_english() else names.stage_name(stage)


def _against_shelf(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = _told(acts.against_shelf(state_of(job)))
    if not record.outstanding:
        sentence = _("No part is outstanding; record what is needed first.")
        reasons.append(Refusal("no-need", sentence))
    return reasons


def _against_reassembled(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    return _told(acts.against_reassembled(state_of(job)))


def _against_soak(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    return _told(acts.against_soak(state_of(job), checklist))


def against_soak_start(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    """Reasons against starting the clock of a soak."""
    if job.stage != Stage.SOAKING:
        sentence = _("A soak starts in stage soaking with power full; move there first.")
        return [Refusal("not-soaking", sentence)]
    if record.soak == "running":
        return [Refusal("soak-running", _("The soak is running already."))]
    return _against_soak(job, record, checklist)


def _against_release(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = []
    if record.outstanding_required:
        specs = "; ".join(need.spec for need in record.outstanding_required)
        sentence = _("Required parts are outstanding: {parts}.").format(parts=specs)
        reasons.append(Refusal("part-outstanding", sentence))
    if record.estimate not in ("none", "yes"):
        sentence = _("The estimate was sent; the answer is: {answer}.")
        reasons.append(Refusal("estimate-open", sentence.format(answer=record.estimate)))
    if record.soak not in ("none", "passed"):
        sentence = _("The soak has not passed: {state}.").format(state=names.soak_name(record.soak))
        reasons.append(Refusal("soak-not-passed", sentence))
    reasons += _against_trials_gone(record, checklist)
    # What came up during the soak, such as a part nobody has agreed to, holds at its gate still.
    return reasons + _told(acts.against_release(state_of(job), checklist))


def _against_trials_gone(record: Record, checklist: Checklist) -> list[Refusal]:
    """Reasons when trials were withdrawn after they were signed for."""
    step, needed = checklist.with_role(StepRole.CLEAN_TRIALS), record.clean_trials_needed
    signed = step is not None and step.state == "signed"
    if not signed or needed is None or record.clean_trials_counted >= needed:
        return []
    ran = record.clean_trials_counted
    sentence = _("Trials without the fault: {needed} are asked for, {ran} are on record.")
    return [Refusal("not-on-record", sentence.format(needed=needed, ran=ran))]


def _against_hand_back(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    return _told(acts.against_hand_back(state_of(job), checklist))


def energised(what: str) -> Refusal:
    """Return the reason against something that is done with mains off: 'a lamp comes out'."""
    return _refusal(acts.energised(what))


def against_signing(job: Job, checklist: Checklist, step: ListedStep, result: str) -> list[Refusal]:
    """Reasons against signing a step with this result now.

    A fail is never refused for the state of the unit: it only takes away.
    """
    if job.closed:
        return [job_closed()]
    if result == "pass":
        return _told(doing.against_doing(state_of(job), checklist, step))
    if result == "not-applicable" and not step.step.not_applicable:
        sentence = _("{step}: this step cannot be marked not applicable.")
        return [Refusal("must-be-done", sentence.format(step=step.step.title))]
    return []


def against_record(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    """Reasons in the job's own record against signing a step as done with these readings.

    A soak is signed that has run and passed; hours and trials on record are counted, not typed.
    """
    role = step.step.role
    if role is StepRole.SOAK:
        return _against_unsoaked(record, step, judged)
    if role is StepRole.CLEAN_TRIALS:
        return _against_uncounted(record, step, judged)
    return []


def _against_unsoaked(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    if record.soak == "failed":
        sentence = _("The soak failed by its readings; run it again after the work.")
        return [Refusal("soak-failed", sentence)]
    if record.soak != "passed" or record.soak_run is None:
        sentence = _("No soak has passed on record ({state}). Start it, read it, end it.")
        return [Refusal("no-soak", sentence.format(state=names.soak_name(record.soak)))]
    if doing.overtaken(step, record.history):
        return [Refusal("soak-overtaken", doing.OVERTAKEN)]
    quantity = step.step.reading_with_role(ReadingRole.HOURS).quantity
    claimed = max((r.value for r in judged if r.quantity == quantity), default=0.0)
    ran = record.soak_run.hours
    if claimed <= ran + _ROUNDED_HOURS:
        return []
    sentence = _("{quantity} is {claimed:g}; the soak on record ran {ran:.2g} h.")
    said = sentence.format(quantity=quantity, claimed=claimed, ran=ran)
    return [Refusal("not-on-record", said)]


def _against_uncounted(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    quantity = step.step.reading_with_role(ReadingRole.COUNT).quantity
    claimed = max((r.value for r in judged if r.quantity == quantity), default=0.0)
    if claimed <= record.clean_trials_counted:
        return []
    if claimed <= record.clean_trials_run:
        few = _("{quantity} is {claimed:g}; {too_fast}")
        said = few.format(quantity=quantity, claimed=claimed, too_fast=_too_fast(record))
        return [Refusal("not-on-record", said)]
    sentence = _(
        "{quantity} is {claimed:g}; {ran} trials without the fault are on record since the last "
        "work or fault. Record each trial as you run it."
    )
    said = sentence.format(quantity=quantity, claimed=claimed, ran=record.clean_trials_run)
    return [Refusal("not-on-record", said)]


def _too_fast(record: Record) -> str:
    sentence = _(
        "{counted} of them count: a try takes {seconds:g} seconds or more, and mains was not on for "
        "longer between the last work or fault and the last trial. Try it again, and record that."
    )
    return sentence.format(counted=record.clean_trials_counted, seconds=SHORTEST_TRY_SECONDS)


def against_no_soak(record: Record) -> list[Refusal]:
    """Reasons against a row of a soak that runs."""
    if record.soak == "running":
        return []
    return [Refusal("no-soak", _("No soak is running; start it first."))]


def against_waiving(
    job: Job, record: Record, step: ListedStep, role: str, look: int
) -> list[Refusal]:
    """Reasons against waiving a step; the role is that of the person who asks.

    `look`: the row that it rests on when the step failed.
    """
    if job.closed:
        return [job_closed()]
    allowed = step.step.waivable_by
    if not allowed:
        sentence = _("{step}: nobody can waive this step.")
        return [Refusal("no-waiver", sentence.format(step=step.step.title))]
    if role not in allowed:
        who = _(" or ").join(allowed)
        sentence = _("{step}: only {who} can waive this step.")
        return [Refusal("no-waiver", sentence.format(step=step.step.title, who=who))]
    return _told(acts.against_waiver(step, record.history, look))
