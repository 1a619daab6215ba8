"""The unit under mains: the complaint is seen, it is tried closed, it soaks, it is proved."""

from __future__ import annotations

from datetime import timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from checklists.engine.roles import StepRole
from checklists.engine.words import FULL, LIMITED
from shop.bench.electrical import soak
from shop.jobs import soaking
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act, Choice
from shop.jobs.next_act.reaching import toward
from shop.jobs.next_act.situation import Move, Situation

# With four faults in four tries few clean ones have to follow: 5, where one fault asks for 59.
TRIES_WHEN_INTERMITTENT = 4
_SEE_IT = gettext_noop(
    "See the complaint before anything is changed: what is seen can be proved cured."
)

_START = Choice(title=gettext_noop("Start the soak"), kind="soak_started")
_TO_SOAK: Move = ("stage", "soaking")
_SOAK: Move = ("soak", "")
_NOT_SEEN = Choice(
    title=gettext_noop("Open it without seeing it"), kind="round_finished", data={"round": "see"}
)


def reproduce(at: Situation) -> Act | None:
    """Bring the closed unit to where its complaint can be seen, and write down each try."""
    if not _to_be_seen(at):
        return None
    act = _towards_seeing_it(at)
    # Before mains comes on, a practitioner may know that it need not be seen.
    return act if act is None or at.energised else acts.with_instead(act, _NOT_SEEN)


def _towards_seeing_it(at: Situation) -> Act | None:
    if at.job.energised and (at.job.power == FULL or not _goes_to_full(at)):
        return trial(gettext_noop("Try it: does the fault show?"), _SEE_IT)
    if at.job.energised:
        return toward(at, ("power", FULL), _SEE_IT) or trial(
            gettext_noop("Try it: does the fault show?"), _SEE_IT
        )
    act = toward(at, ("power", LIMITED), _SEE_IT)
    if act is not None and act.act == "power" and at.stage == "received":
        return acts.leading_to(at.act(("stage", "reproducing"), _SEE_IT), act)
    return act


def _to_be_seen(at: Situation) -> bool:
    """Whether the fault is still to be seen, and can be without opening the unit."""
    if at.open or at.round("see") or at.record.repair_rows or at.record.findings or at.failed:
        return False
    if at.record.facts.get("complaint.symptoms") == ["no-complaint"]:
        return False
    return len(at.record.trials) < _tries(at) and _closed_will_do(at)


def _tries(at: Situation) -> int:
    """Return how many tries are worth their time; a fault that never shows is not forced."""
    if at.record.facts.get("complaint.intermittent") is False:
        return 1
    seen = all(trial.fault for trial in at.record.trials)
    return TRIES_WHEN_INTERMITTENT if seen else 1


def _closed_will_do(at: Situation) -> bool:
    return all(step.step.needs_cover != "off" for step in at.asked(LIMITED))


def _goes_to_full(at: Situation) -> bool:
    """Whether all that full mains asks can be measured on the limiter, with the cover on."""
    return all(
        step.step.needs_cover != "off" and LIMITED in step.step.needs_power
        for step in at.asked(FULL)
        if not step.step.of_the_bench
    )


def trial(title: str, why: str) -> Act:
    """Write one try down; whether the fault showed is for the person to say."""
    return acts.record(
        Choice(title=title, kind="trial_run", needs=[acts.need("fault", "bool")]), why
    )


def towards_soak(at: Situation) -> Act | None:
    """From closed to the stage of the soak: what is done isolated first, then limited, then full."""
    if at.job.power == FULL:
        # Trials first: a fault that shows then costs no soak.
        soaked = toward(at, _TO_SOAK, gettext_noop("It is together: let it run."))
        return _trials_due(at) or _soak_at_once(at, soaked)
    act = _closed_tests(at)
    return act or toward(at, ("power", FULL), gettext_noop("It is together: see that it runs."))


def _soak_at_once(at: Situation, act: Act | None, move: Move = _TO_SOAK) -> Act | None:
    """Return the move to the soak, or the last step before it, with the start of its clock."""
    if act is None or not (act.act == "stage" or _is_last_before(at, act.key, move)):
        return act
    return acts.leading_to(act, acts.record(_START, gettext_noop("All that it asks stands.")))


def _is_last_before(at: Situation, key: str, move: Move) -> bool:
    """Whether a step is all that is in the way. One that asks something, or two people, stands by itself."""
    if not key or {reason.step for reason in at.against(move)} != {key}:
        return False
    listed = at.checklist.by_key[key]
    return not (listed.asks_something or listed.step.second_person)


def _closed_tests(at: Situation) -> Act | None:
    """Sign what leaving asks of the closed unit and can be done as things are, to save plug moves."""
    for step in at.to_do:
        here = at.job.power in step.step.needs_power and step.step.needs_power != ("limited", FULL)
        of_unit = not step.step.of_the_bench and step.step.role is None
        if here and of_unit and not at.against(("sign", step.key)):
            return at.act(("sign", step.key), gettext_noop("It is asked before it leaves."))
    return None


def soak_it(at: Situation) -> Act | None:
    """Start the soak, read it by its plan, end it; None when it has run or is not asked."""
    step = at.checklist.with_role(StepRole.SOAK)
    if at.record.soak == "running":
        return _run_on(at)
    if step is None or step.stands or not at.soak_due(step):
        return None
    if not at.against(_SOAK):
        return acts.record(_START, gettext_noop("All that it asks stands."))
    act = toward(at, _SOAK, gettext_noop("The soak has to run."))
    return _soak_at_once(at, act, _SOAK)


def _run_on(at: Situation) -> Act | None:
    run = soaking.soak_of(at.record, at.checklist)
    if run is None:
        return None
    if run.verdict.failed:
        # Its readings have said so already: hours more of it can only do harm.
        ends = Choice(
            title=gettext_noop("End the soak: it failed"),
            kind="soak_ended",
            data={"result": "fail"},
        )
        return acts.record(ends, run.verdict.reasons[0])
    due = run.next_due(at.now)
    if due is not None and due > at.now:
        why = _("The soak runs; {ran:.1f} of {hours:g} h are done.").format(
            ran=run.run_minutes(at.now) / 60, hours=run.plan.hours
        )
        return acts.wait(due, "soak", gettext_noop("Let it run until the next reading"), why)
    return _read(run, at) if due is not None else _end(run, at)


def _read(run: soaking.Soak, at: Situation) -> Act:
    limit = run.limits[soak.SINK]
    value = acts.need("value", "double", unit="C", low=0.0, high=limit.high)
    choice = Choice(
        title=_("Read {what}").format(what=soaking.warmest(at.checklist.facts)),
        kind="soak_reading",
        data={"quantity": soak.SINK, "unit": "C"},
        needs=[value],
    )
    return acts.record(choice, gettext_noop("A reading of the soak is due."))


def _end(run: soaking.Soak, at: Situation) -> Act:
    ends = run.run.started_at + timedelta(hours=run.plan.hours)
    if at.now < ends:
        return acts.wait(
            ends,
            "soak",
            gettext_noop("Let it run to its end"),
            gettext_noop("The hours are not over yet."),
        )
    choices = [
        Choice(title=title, kind="soak_ended", data={"result": result})
        for title, result in (
            (gettext_noop("Something was wrong"), "fail"),
            (gettext_noop("It ran well"), "pass"),
        )
    ]
    over = acts.choose(gettext_noop("The soak is over: how did it run?"), _how_warm(run), choices)
    step = at.checklist.with_role(StepRole.SOAK)
    if step is None or step.stands:
        return over
    return acts.leading_to(over, at.act(("sign", step.key), gettext_noop("It has run.")))


def _how_warm(run: soaking.Soak) -> str:
    read = [one.value for one in run.readings if one.quantity == soak.SINK]
    if not read:
        return gettext_noop("Its hours are over.")
    said = _("Its hours are over; the highest reading was {highest:g}\N{NO-BREAK SPACE}°C.")
    return said.format(highest=max(read))


def prove(at: Situation) -> Act | None:
    """Do all that leaving asks: what can be done at this power first, the plug out once."""
    act = _closed_tests(at) or _roles(at)
    return act or toward(at, ("stage", "released"), gettext_noop("Nothing is in its way."))


def _trials_due(at: Situation) -> Act | None:
    """Return the next trial, or their sign-off; None when none are asked."""
    for step in at.to_do:
        if step.step.role is StepRole.CLEAN_TRIALS:
            return _trials(at, step.key)
    return None


def _roles(at: Situation) -> Act | None:
    """Sign the soak, and run and sign the trials, while mains is on for them."""
    for step in at.to_do:
        if step.step.role is StepRole.SOAK:
            return toward(at, ("sign", step.key), gettext_noop("It has run."))
    return _trials_due(at)


def _trials(at: Situation, key: str) -> Act | None:
    left = at.trials_left(at.checklist.by_key[key])
    why = _("Trials without the fault: {left} are missing.").format(left=left)
    if not left:
        return toward(at, ("sign", key), gettext_noop("The trials are on record."))
    if at.job.power != FULL:
        return toward(at, ("power", FULL), why)
    return trial(gettext_noop("Try it again: does the fault show?"), why)
