"""Checks of the table of hazards against the steps, and of the state in which each step is done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from checklists.engine.hazards import Hazard
from checklists.engine.pack import Pack, Step
from checklists.engine.words import COVER_OFF, HANDS

# States that the gate itself leaves open: nothing at a gate may need what the gate forbids.
_POWER_BEFORE = {
    "first-power": {"isolated"},
    "open-up": {"isolated"},
    "hands-in": {"isolated"},
    "limited-power": {"isolated"},
    "full-power": {"isolated", "limited"},
    "hand-back": {"isolated"},
}
_COVER_BEFORE = {"open-up": "on", "hands-in": "off"}
_NEVER_WAIVED = frozenset({COVER_OFF, HANDS})
_NOT_FOR_POSSIBLE = ("job.power", "job.stage")


def problems(hazards: Mapping[str, Hazard], steps: Mapping[str, Step]) -> list[str]:
    """Return a sentence for each name that leads nowhere and each step that cannot be done."""
    found: list[str] = []
    for hazard in hazards.values():
        found += _hazard_problems(hazard, steps)
    for step in steps.values():
        found += _step_problems(step, hazards, steps)
    return [*found, *_circles(steps)]


def _hazard_problems(hazard: Hazard, steps: Mapping[str, Step]) -> Iterator[str]:
    for key in hazard.cleared_by:
        if key not in steps:
            yield f"Hazard {hazard.key} is cleared by {key}, which is no step."
            continue
        if not steps[key].hold:
            yield f"Hazard {hazard.key} is cleared by {key}, which is no hold step."
        yield from _reaching_in(steps[key], hazard)
    for name in _NOT_FOR_POSSIBLE:
        if name in hazard.possible.names:
            yield f"Hazard {hazard.key}: possible reads {name}; write it as an event or exposure."


def _step_problems(
    step: Step, hazards: Mapping[str, Hazard], steps: Mapping[str, Step]
) -> Iterator[str]:
    for name in step.needs_steps:
        if name not in steps:
            yield f"Step {step.key} needs {name}, which is no step."
    yield from _clearing_problems(step, hazards)
    if step.hold:
        yield from _state_problems(step)
    if step.waivable_by:
        yield from _waiver_problems(step, hazards)
    yield from _written_twice(step, hazards)


def _waiver_problems(step: Step, hazards: Mapping[str, Hazard]) -> Iterator[str]:
    """What a hand would meet is never waived: the plug, the discharge, the dead test."""
    for hazard in hazards.values():
        if step.key in hazard.cleared_by and not _NEVER_WAIVED.isdisjoint(hazard.meets):
            yield f"Step {step.key} can be waived, and hazard {hazard.key} meets a hand; nobody can."


def _clearing_problems(step: Step, hazards: Mapping[str, Hazard]) -> Iterator[str]:
    for key in step.clears:
        if key not in hazards:
            yield f"Step {step.key} clears {key}, which is no hazard."
            continue
        if hazards[key].any_clears:
            yield f"Step {step.key} would loosen hazard {key}, which any of its steps clears."
        if not step.hold:
            yield f"Step {step.key} clears {key}; only a hold step can."
        yield from _reaching_in(step, hazards[key])


def _reaching_in(step: Step, hazard: Hazard) -> Iterator[str]:
    """What a hand would meet is cleared before a hand goes in: by probe, or from outside."""
    if step.by_hand and HANDS in hazard.meets:
        yield f"Step {step.key} is done by hand inside, where hazard {hazard.key} hurts; clear it before."


def idle_holds(pack: Pack) -> list[Step]:
    """Return the hold steps that clear no hazard; of a shipped pack that is a fault."""
    holds = [step for step in pack.steps.values() if step.hold]
    return [step for step in holds if not pack.hazards_cleared_by(step.key)]


def _state_problems(step: Step) -> Iterator[str]:
    for gate in filter(None, (step.gate, step.gate_once_opened)):
        before = _POWER_BEFORE.get(gate)
        if before and step.needs_power and before.isdisjoint(step.needs_power):
            needed = " or ".join(step.needs_power)
            yield f"Step {step.key} needs power {needed}, which its gate {gate} forbids until it stands."
        cover = _COVER_BEFORE.get(gate)
        if cover and step.needs_cover and step.needs_cover != cover:
            yield f"Step {step.key} needs the cover {step.needs_cover}; at gate {gate} it is {cover}."


def _written_twice(step: Step, hazards: Mapping[str, Hazard]) -> Iterator[str]:
    for hazard in hazards.values():
        if step.key in hazard.cleared_by:
            for trigger in step.invalidated_by:
                if trigger in hazard.raised_by:
                    yield (
                        f"Step {step.key}: ended_by {trigger.sentence()} follows from hazard"
                        f" {hazard.key}; leave it out."
                    )


def _circles(steps: Mapping[str, Step]) -> Iterator[str]:
    graph = {key: set(step.needs_steps) & steps.keys() for key, step in steps.items()}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        yield f"Steps need each other in a circle: {', '.join(sorted(set(error.args[1])))}."
