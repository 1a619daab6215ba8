"""Proves that every hold has a hazard: what a gate asks for, the exposure behind it asks for as well.

A step that only a gate asks for would be asked when a button is pressed, and not while the
exposure lasts or after what undoes it. What the rules ask of a unit as it comes in, a hazard that
is up on arrival asks too. Of a shop's own steps this is not asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checklists.engine import exposures
from checklists.engine.checklist import Checklist
from checklists.engine.derive import derive
from checklists.engine.pack import Pack, Step
from checklists.engine.prove import Proof, Verdict
from checklists.engine.vocabulary import Facts
from checklists.engine.words import EXPOSURES, LIMITED, LIVE

# What the record knows of a unit of which nobody has said anything yet.
_AS_IT_CAME: Facts = {"findings": [], "work": [], "job.returned": False, "job.beyond_agreed": False}


def purposes(pack: Pack, keys: Iterable[str]) -> Iterator[Proof]:
    """Yield a proof for each of these steps that is a hold."""
    as_it_came = derive(pack, _AS_IT_CAME)
    for key in keys:
        if pack.steps[key].hold:
            yield _purpose(pack, pack.steps[key])
            yield _arrival(pack, pack.steps[key], as_it_came)


def _purpose(pack: Pack, step: Step) -> Proof:
    name, says = f"purpose/{step.key}", f"{step.key} clears what its gate guards against."
    cleared = pack.hazards_cleared_by(step.key)
    shared = {hazard.key for hazard in cleared if hazard.any_clears}
    for exposure in _asking(step):
        idle = [h.key for h in cleared if h.meets.isdisjoint(_guarded(step, exposure))]
        # Where one of several steps is enough, this one need not be about the hazard alone.
        idle = [key for key in idle if key not in shared or len(idle) == len(cleared)]
        if idle or not cleared:
            why = f"it clears no hazard that meets {exposure}"
            why = f"{', '.join(idle)} does not meet {exposure}" if idle else why
            return Proof(id=name, verdict=Verdict.REFUTED, says=says, why=why)
    return Proof(id=name, verdict=Verdict.PROVED, says=says)


def _arrival(pack: Pack, step: Step, as_it_came: Checklist) -> Proof:
    name = f"arrival/{step.key}"
    says = f"Where the rules ask {step.key} of a unit as it comes in, a hazard asks for it too."
    asked = step.key in as_it_came.by_key and _met_closed(step)
    armed = {one.hazard.key for one in as_it_came.armed}
    cleared = {hazard.key for hazard in pack.hazards_cleared_by(step.key)}
    if asked and armed.isdisjoint(cleared):
        why = "no hazard that it clears is up on arrival"
        return Proof(id=name, verdict=Verdict.REFUTED, says=says, why=why)
    return Proof(id=name, verdict=Verdict.PROVED, says=says)


def _met_closed(step: Step) -> bool:
    """Whether a gate of a unit that has not been opened asks for it."""
    return any(step.gate in exposures.gates(exposure, opened=False) for exposure in EXPOSURES)


def _asking(step: Step) -> list[str]:
    """Return the exposures at whose gates the step is a hold."""
    closed = [e for e in EXPOSURES if step.gate in exposures.gates(e, opened=False)]
    once_opened = step.gate_once_opened or step.gate
    opened = [e for e in EXPOSURES if once_opened in exposures.gates(e, opened=True)]
    return list(dict.fromkeys([*closed, *opened]))


def _guarded(step: Step, exposure: str) -> set[str]:
    """What the set-up for an open unit guards is met as soon as the limiter is on."""
    open_bench = exposure == LIMITED and step.of_the_bench and step.needs_cover == "off"
    return {exposure, LIVE} if open_bench else {exposure}
