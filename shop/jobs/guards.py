"""Why a move is refused: every guard returns the list of reasons, empty when there is none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from checklists.engine import exposures
from checklists.engine.exposures import Hindrance
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.words import COVER_OFF, HAND_BACK, HANDS, LEAVE, UNATTENDED
from shop.jobs.stages import CLOSED, FOLLOWS, Cover, Power, Stage
from shop.lib.refusals import Refusal

if TYPE_CHECKING:
    from checklists.engine.checklist import Checklist, ListedStep
    from checklists.engine.judging import Judged
    from shop.jobs.models import Job
    from shop.jobs.record import Record

JOB_CLOSED = Refusal("closed", "The job is closed; a unit that comes back is a new job.")
ONLY_NOTES = Refusal("closed", "The job is closed; only notes can be added.")
UNPLUG = Refusal(
    "unplug-first",
    "A permit fell while mains was on. Pull the plug and confirm mains off first.",
)
COVER_IS_ON = Refusal(
    "wrong-cover",
    "The cover is on. Take it off first; or say that it was done from outside, on a board that is"
    " out of the unit, before this job, or earlier and told late.",
)
# A run of 3 h 59 min is written down as 4 h.
_ROUNDED_HOURS = 0.05


def against_exposure(exposure: str, checklist: Checklist) -> list[Refusal]:
    """Return one refusal for each step that has to stand before an exposure begins."""
    return [_hold(hindrance) for hindrance in exposures.against(exposure, checklist)]


def against_lasting(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    """Reasons against the power that the unit has, looked at again after an event."""
    met = _under(Power(job.power), job, soaking=record.soak == "running")
    return [_hold(hindrance) for hindrance in exposures.lasting(met, checklist)]


def _under(power: Power, job: Job, *, soaking: bool = False) -> tuple[str, ...]:
    return exposures.of_power(power, cover_off=job.cover == Cover.OFF, soaking=soaking)


def _hold(hindrance: Hindrance) -> Refusal:
    step, hazard = hindrance.step, hindrance.hazard
    why = step.validity.why or "It does not stand."
    if hazard is not None:
        why = f"{hazard.hazard.title}. {why}"
    return Refusal("hold", why, step.key, step.step.title, step.state)


def _treat_as_live(job: Job) -> list[Refusal]:
    return [UNPLUG] if job.unplug_due else []


def against_power(job: Job, record: Record, checklist: Checklist, to: Power) -> list[Refusal]:
    """Reasons against applying limited or full power. Isolating has no guard."""
    if job.closed:
        return [JOB_CLOSED]
    reasons = [*_treat_as_live(job), *against_twin_job(job)]
    if to == Power.FULL and job.power == Power.ISOLATED and not _tried(checklist):
        sentence = "Mains comes through the limiter first: limited, then full."
        reasons.append(Refusal("limiter-first", sentence))
    if to == Power.LIMITED and job.power == Power.FULL:
        sentence = "Take mains off before the limiter goes back in."
        reasons.append(Refusal("isolate-first", sentence))
    for exposure in _under(to, job):
        reasons += [r for r in against_exposure(exposure, checklist) if r not in reasons]
    return reasons


def _tried(checklist: Checklist) -> bool:
    """Whether the unit passed what is measured on the limiter, and nothing was done since."""
    measured = [s for s in checklist.gate("full-power") if s.step.needs_power == (Power.LIMITED,)]
    return bool(measured) and all(step.stands for step in measured)


def against_twin_job(job: Job) -> list[Refusal]:
    """Reasons against mains while a second job of the same unit is open, as older shops have them."""
    others = [str(n) for n in job.unit.open_jobs() if n != job.number]
    if not others:
        return []
    numbers = " and ".join(others)
    return [Refusal("two-jobs", f"The unit has another open job, {numbers}. Join them first.")]


def against_cover_off(job: Job, checklist: Checklist) -> list[Refusal]:
    """Reasons against taking the cover off."""
    if job.closed:
        return [JOB_CLOSED]
    reasons = _treat_as_live(job)
    if job.energised:
        reasons.append(energised("the cover comes off"))
    return reasons + against_exposure(COVER_OFF, checklist)


def against_hands(job: Job, checklist: Checklist) -> list[Refusal]:
    """Reasons against a hand in the unit: work, fitting, steps that are done inside."""
    reasons = _treat_as_live(job)
    if job.energised:
        reasons.append(energised("a hand goes in"))
    if job.cover == Cover.ON:
        reasons.append(COVER_IS_ON)
    return reasons + against_exposure(HANDS, checklist)


def against_work_outside(job: Job) -> list[Refusal]:
    """Reasons against work that needs no hand inside: from outside, or on a board that is out."""
    return [*_treat_as_live(job), *([energised("work is done")] if job.energised else [])]


def against_stage(job: Job, record: Record, checklist: Checklist, to: Stage) -> list[Refusal]:
    """Reasons against a stage; first whether it can follow at all, then what it asks for."""
    here = Stage(job.stage)
    if here in CLOSED:
        return [JOB_CLOSED]
    if to not in FOLLOWS[here]:
        ways = ", ".join(FOLLOWS[here])
        return [Refusal("no-way", f"From {here} a job can go to {ways}, not to {to}.")]
    asked = {
        Stage.AWAITING_PARTS: _against_shelf,
        Stage.SOAKING: _against_soak,
        Stage.RELEASED: _against_release,
        Stage.WITHDRAWN: _against_hand_back,
    }
    guard = asked.get(to)
    return guard(job, record, checklist) if guard else []


def _against_shelf(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = [] if not job.energised else [energised("the unit goes on the shelf")]
    if not record.outstanding:
        reasons.append(Refusal("no-need", "No part is outstanding; record what is needed first."))
    return reasons


def _against_soak(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons: list[Refusal] = []
    if job.power != Power.FULL:
        reasons.append(Refusal("not-full", f"A soak runs on full power; power is {job.power}."))
    if job.cover != Cover.ON:
        reasons.append(Refusal("cover-off", "A soak runs with the cover on."))
    return reasons + against_exposure(UNATTENDED, checklist)


def against_soak_start(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    """Reasons against starting the clock of a soak."""
    if job.stage != Stage.SOAKING:
        sentence = "A soak starts in stage soaking with power full; move there first."
        return [Refusal("not-soaking", sentence)]
    if record.soak == "running":
        return [Refusal("soak-running", "The soak is running already.")]
    return _against_soak(job, record, checklist)


def _against_release(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = [] if not job.energised else [energised("the unit leaves")]
    reasons += _treat_as_live(job)
    if job.cover != Cover.ON:
        reasons.append(Refusal("cover-off", "The cover is off; a unit leaves closed."))
    if record.outstanding_required:
        specs = "; ".join(need.spec for need in record.outstanding_required)
        reasons.append(Refusal("part-outstanding", f"Required parts are outstanding: {specs}."))
    if record.estimate not in ("none", "yes"):
        reasons.append(
            Refusal("estimate-open", f"The estimate was sent; the answer is: {record.estimate}.")
        )
    if record.soak not in ("none", "passed"):
        reasons.append(Refusal("soak-not-passed", f"The soak has not passed: {record.soak}."))
    # What came up during the soak, such as a part nobody has agreed to, holds at its gate still.
    return reasons + against_exposure(LEAVE, checklist)


def _against_hand_back(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = [] if not job.energised else [energised("the unit leaves")]
    reasons += _treat_as_live(job)
    unusable = checklist.with_role(StepRole.MADE_UNUSABLE)
    if job.cover != Cover.ON and not (unusable and unusable.stands):
        sentence = "The cover is off. Close the unit, or make it unusable and sign that."
        reasons.append(Refusal("cover-off", sentence))
    return reasons + against_exposure(HAND_BACK, checklist)


def energised(what: str) -> Refusal:
    """Return the reason against something that is done with mains off: 'the cover comes off'."""
    return Refusal("energised", f"Mains is on. Take it off before {what}.")


def against_signing(job: Job, checklist: Checklist, step: ListedStep, result: str) -> list[Refusal]:
    """Reasons against signing a step with this result now.

    A fail is never refused for the state of the unit: it only takes away.
    """
    if job.closed:
        return [JOB_CLOSED]
    if result == "pass":
        return _against_doing(job, checklist, step)
    if result == "not-applicable" and not step.step.not_applicable:
        sentence = f"{step.step.title}: this step cannot be marked not applicable."
        return [Refusal("must-be-done", sentence)]
    return []


def _against_doing(job: Job, checklist: Checklist, listed: ListedStep) -> list[Refusal]:
    """Reasons in the state of the unit against having done a step now."""
    step, title = listed.step, listed.step.title
    reasons: list[Refusal] = []
    if step.needs_power and job.power not in step.needs_power:
        needed = " or ".join(step.needs_power)
        sentence = f"{title}: this is done with power {needed}; power is {job.power}."
        reasons.append(Refusal("wrong-power", sentence))
    elif Power.ISOLATED in step.needs_power:
        reasons += _treat_as_live(job)
    if step.needs_cover and job.cover != step.needs_cover:
        sentence = f"{title}: this is done with the cover {step.needs_cover}; it is {job.cover}."
        reasons.append(Refusal("wrong-cover", sentence))
    reasons += _against_order(checklist, listed)
    if step.by_hand and not reasons:
        reasons += against_exposure(HANDS, checklist)
    return reasons


def _against_order(checklist: Checklist, listed: ListedStep) -> list[Refusal]:
    """Reasons in the steps that have to stand before this one is done, where they are listed."""
    before = [checklist.by_key.get(key) for key in listed.step.needs_steps]
    return [_hold(Hindrance(step)) for step in before if step is not None and not step.stands]


def against_record(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    """Reasons in the job's own record against signing a step as done with these readings.

    A soak is signed that has run and passed; hours and trials on record are counted, not typed.
    """
    role = step.step.role
    if role is StepRole.SOAK:
        return _against_unsoaked(record, step, judged)
    if role is StepRole.CLEAN_TRIALS and record.clean_trials_needed is not None:
        return _against_uncounted(record, step, judged)
    return []


def _against_unsoaked(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    if record.soak == "failed":
        sentence = "The soak failed by its readings; run it again after the work."
        return [Refusal("soak-failed", sentence)]
    if record.soak != "passed" or record.soak_run is None:
        sentence = f"No soak has passed on record ({record.soak}). Start it, read it, end it."
        return [Refusal("no-soak", sentence)]
    quantity = step.step.reading_with_role(ReadingRole.HOURS).quantity
    claimed = max((r.value for r in judged if r.quantity == quantity), default=0.0)
    ran = record.soak_run.hours
    if claimed <= ran + _ROUNDED_HOURS:
        return []
    sentence = f"{quantity} is {claimed:g}; the soak on record ran {ran:.2g} h."
    return [Refusal("not-on-record", sentence)]


def _against_uncounted(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    quantity = step.step.reading_with_role(ReadingRole.COUNT).quantity
    claimed = max((r.value for r in judged if r.quantity == quantity), default=0.0)
    if claimed <= record.clean_trials_run:
        return []
    return [
        Refusal(
            "not-on-record",
            f"{quantity} is {claimed:g}; {record.clean_trials_run} trials without the fault are"
            " on record since the last work or fault. Record each trial as you run it.",
        )
    ]


def against_no_soak(record: Record) -> list[Refusal]:
    """Reasons against a row of a soak that runs."""
    if record.soak == "running":
        return []
    return [Refusal("no-soak", "No soak is running; start it first.")]


def against_waiving(job: Job, step: ListedStep, role: str) -> list[Refusal]:
    """Reasons against waiving a step; the role is that of the person who asks."""
    if job.closed:
        return [JOB_CLOSED]
    allowed = step.step.waivable_by
    if not allowed:
        return [Refusal("no-waiver", f"{step.step.title}: nobody can waive this step.")]
    if role not in allowed:
        who = " or ".join(allowed)
        return [Refusal("no-waiver", f"{step.step.title}: only {who} can waive this step.")]
    return []
