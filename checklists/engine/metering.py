"""Which readings of a step a meter may be asked for over a line, and which a person reads and types.

A lead that came off reads a still 0 V and a still 0 A. So nothing that proves a unit harmless to
touch is ever read so: dead test, discharge, primary bus, insulation, earth, touch current. It is
derived from the table of hazards and the state that a step needs; what is not plainly harmless
is refused.
"""

from __future__ import annotations

from checklists.engine.hazards import Hazard
from checklists.engine.pack import Pack, Step
from checklists.engine.words import COVER_OFF, HAND_BACK, HANDS, ISOLATED, METERED

TEMPERATURE = "temperature"
# Before these, and for whoever gets the unit back, the person proves it and not the meter.
_GATES = frozenset({"open-up", "hands-in", "hand-back"})
_TOUCHED = frozenset({COVER_OFF, HANDS, HAND_BACK})


def why_not(pack: Pack, step: Step, measures: str) -> str:
    """Return why a reading of a step is not taken from a meter; empty when it may be.

    measures: a word of MEASURED, as the reading has it; any other word is refused.
    """
    if measures not in METERED:
        return "It is read on the tester and typed."
    cleared = pack.hazards_cleared_by(step.key)
    if _proves_harmless(pack, step, cleared):
        return "It proves that nothing bites, and a lead that came off reads a still 0: read it and type it."
    if measures != TEMPERATURE and not _under_mains(step):
        return "It is measured with mains off, where a lead that came off reads a still 0: read it and type it."
    return ""


def _proves_harmless(pack: Pack, step: Step, cleared: tuple[Hazard, ...]) -> bool:
    if {step.gate, step.gate_once_opened} & _GATES:
        return True
    known = {hazard.key for hazard in cleared}
    if not step.hazards <= known:
        return True
    return any(hazard.meets & _TOUCHED or _by_tester(pack, hazard) for hazard in cleared)


def _by_tester(pack: Pack, hazard: Hazard) -> bool:
    """Whether a step that clears it measures what is only ever read on a tester."""
    steps = [pack.steps[key] for key in (*hazard.cleared_by, *hazard.also) if key in pack.steps]
    measured = {reading.measures for step in steps for reading in step.readings}
    return not measured - {""} <= METERED


def _under_mains(step: Step) -> bool:
    return bool(step.needs_power) and ISOLATED not in step.needs_power
