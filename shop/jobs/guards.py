"""Why a move is refused: every guard returns the list of reasons, empty when there is none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from checklists.engine.roles import ReadingRole, StepRole
from shop.jobs.stages import CLOSED, FOLLOWS, Cover, Power, Stage
from shop.lib.refusals import Refusal

if TYPE_CHECKING:
    from checklists.engine.checklist import Checklist, ListedStep
    from checklists.engine.judging import Judged
    from shop.jobs.models import Job
    from shop.jobs.record import Record

JOB_CLOSED = Refusal("closed", "The job is closed; a unit that comes back is a new job.")
ONLY_NOTES = Refusal("closed", "The job is closed; only notes can be added.")
_UNPLUG = Refusal(
    "unplug-first",
    "A permit fell while mains was on. Pull the plug and confirm mains off first.",
)


def gates_for(power: Power, *, touched: bool) -> tuple[str, ...]:
    """Return the gates whose hold steps must stand while a unit has this power.

    Full power keeps the gate it came through: what the limiter was fitted for still holds.
    """
    entry = "limited-power" if touched else "first-power"
    return (entry, "full-power") if power == Power.FULL else (entry,)


def unmet_at(checklist: Checklist, gates: Iterable[str]) -> list[Refusal]:
    """Return one refusal for each hold step of the gates that does not stand."""
    return [_hold(step) for gate in gates for step in checklist.unmet(gate)]


def _hold(step: ListedStep) -> Refusal:
    why = step.validity.why or "It does not stand."
    return Refusal("hold", why, step.key, step.step.title, step.state)


def against_power(job: Job, record: Record, checklist: Checklist, to: Power) -> list[Refusal]:
    """Reasons against applying limited or full power. Isolating has no guard."""
    reasons: list[Refusal] = []
    if job.closed:
        return [JOB_CLOSED]
    if job.unplug_due:
        reasons.append(_UNPLUG)
    if to == Power.FULL and job.power == Power.ISOLATED:
        reasons.append(
            Refusal("limiter-first", "Mains comes through the limiter first: limited, then full.")
        )
    if to == Power.LIMITED and job.power == Power.FULL:
        reasons.append(Refusal("isolate-first", "Take mains off before the limiter goes back in."))
    gates = gates_for(to, touched=record.history.touched)
    return reasons + unmet_at(checklist, gates)


def against_cover_off(job: Job, checklist: Checklist) -> list[Refusal]:
    """Reasons against taking the cover off."""
    if job.closed:
        return [JOB_CLOSED]
    reasons = [_UNPLUG] if job.unplug_due else []
    if job.energised:
        reasons.append(energised("the cover comes off"))
    return reasons + unmet_at(checklist, ("open-up",))


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
    return reasons + unmet_at(checklist, ("soak",))


def _against_release(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = [] if not job.energised else [energised("the unit leaves")]
    if job.unplug_due:
        reasons.append(_UNPLUG)
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
    return reasons + unmet_at(checklist, ("soak", "release"))


def _against_hand_back(job: Job, record: Record, checklist: Checklist) -> list[Refusal]:
    reasons = [] if not job.energised else [energised("the unit leaves")]
    if job.unplug_due:
        reasons.append(_UNPLUG)
    return reasons + unmet_at(checklist, ("hand-back",))


def energised(what: str) -> Refusal:
    """Return the reason against something that is done with mains off: 'the cover comes off'."""
    return Refusal("energised", f"Mains is on. Take it off before {what}.")


def against_signing(job: Job, step: ListedStep, result: str) -> list[Refusal]:
    """Reasons against signing a step with this result now."""
    if job.closed:
        return [JOB_CLOSED]
    reasons: list[Refusal] = []
    needed = step.step.needs_power
    if result == "pass" and needed and job.power not in needed:
        reasons.append(
            Refusal(
                "wrong-power",
                f"{step.step.title}: this is done with power {' or '.join(needed)};"
                f" power is {job.power}.",
            )
        )
    if result == "not-applicable" and not step.step.not_applicable:
        reasons.append(
            Refusal(
                "must-be-done", f"{step.step.title}: this step cannot be marked not applicable."
            )
        )
    return reasons


def against_record(record: Record, step: ListedStep, judged: Sequence[Judged]) -> list[Refusal]:
    """Reasons in the job's own record against signing a step as done with these readings.

    A failed soak cannot be signed as passed; trials on record are counted, not typed.
    """
    role = step.step.role
    if role is StepRole.SOAK and record.soak == "failed":
        return [
            Refusal("soak-failed", "The soak failed by its readings; run it again after the work.")
        ]
    if role is StepRole.CLEAN_TRIALS and record.clean_trials_needed is not None:
        return _against_uncounted(record, step, judged)
    return []


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
