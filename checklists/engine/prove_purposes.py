"""Proves that every hold has a hazard: what a gate asks for, the exposure behind it asks for as well.

A step that only a gate asks for would be asked when a button is pressed, and not while the
exposure lasts or after what undoes it. Of a shop's own steps this is not asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checklists.engine import exposures
from checklists.engine.pack import Pack, Step
from checklists.engine.prove import Proof, Verdict
from checklists.engine.words import EXPOSURES, LIMITED, LIVE


def purposes(pack: Pack, keys: Iterable[str]) -> Iterator[Proof]:
    """Yield a proof for each of these steps that is a hold."""
    for key in keys:
        if pack.steps[key].hold:
            yield _purpose(pack, pack.steps[key])


def _purpose(pack: Pack, step: Step) -> Proof:
    name, says = f"purpose/{step.key}", f"{step.key} clears what its gate guards against."
    met = {exposure for hazard in pack.hazards_cleared_by(step.key) for exposure in hazard.meets}
    for exposure in _asking(step):
        if met.isdisjoint(_guarded(step, exposure)):
            why = f"it clears no hazard that meets {exposure}"
            return Proof(id=name, verdict=Verdict.REFUTED, says=says, why=why)
    return Proof(id=name, verdict=Verdict.PROVED, says=says)


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
