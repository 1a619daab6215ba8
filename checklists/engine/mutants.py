"""Packs with one line taken away: what a table that somebody shortened would look like.

Each mutant takes away one hazard, one trigger, one word of a narrowing list, one exposure, one
clearing step, or one condition of doing; or makes a hazard impossible, or absent on arrival.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from checklists.engine import cel
from checklists.engine.hazards import Hazard
from checklists.engine.history import Trigger
from checklists.engine.pack import Pack, Step
from checklists.engine.reading_packs import Parts

_NEVER = cel.condition("false")
_LISTS = ("work", "finding", "section", "except_section", "values", "power", "stage")


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: its name, the steps whose sign-offs it is about, and the pack it makes.

    `stricter`: it can only refuse more, so that only what must be accepted can tell.
    """

    name: str
    steps: frozenset[str]
    parts: Parts
    stricter: bool = False

    def pack(self) -> Pack:
        """Return the pack; PackError when the loader refuses it."""
        return replace(self.parts, raw={"mutant": self.name, **self.parts.raw}).pack()


def mutants(parts: Parts) -> Iterator[Mutant]:
    """Yield every mutant of the table of hazards and of the conditions of doing."""
    for hazard in parts.hazards.values():
        yield from _of_hazard(parts, hazard)
    for step in parts.steps.values():
        yield from _of_step(parts, step)


def _of_hazard(parts: Parts, hazard: Hazard) -> Iterator[Mutant]:
    without = {key: h for key, h in parts.hazards.items() if key != hazard.key}
    steps = frozenset(hazard.cleared_by)
    yield Mutant(f"{hazard.key}: gone", steps, replace(parts, hazards=without))
    for name, changes, stricter in _changes(hazard):
        changed = {**parts.hazards, hazard.key: replace(hazard, **changes)}
        yield Mutant(f"{hazard.key}: {name}", steps, replace(parts, hazards=changed), stricter)


Change = tuple[str, Mapping[str, Any], bool]


def _changes(hazard: Hazard) -> Iterator[Change]:
    yield "possible is false", {"possible": _NEVER}, False
    if hazard.on_arrival:
        yield "not on arrival", {"on_arrival": False}, False
    for exposure in sorted(hazard.meets):
        yield f"meets no {exposure}", {"meets": hazard.meets - {exposure}}, False
    for exposure in sorted(hazard.meets_failed):
        fewer = {"meets_failed": hazard.meets_failed - {exposure}}
        yield f"failed, meets no {exposure}", fewer, False
    for key in hazard.cleared_by if len(hazard.cleared_by) > 1 else ():
        left = tuple(other for other in hazard.cleared_by if other != key)
        yield f"not cleared by {key}", {"cleared_by": left}, hazard.any_clears
    for place, trigger in enumerate(hazard.raised_by):
        rest = [*hazard.raised_by[:place], *hazard.raised_by[place + 1 :]]
        yield f"not raised by {trigger.sentence()}", {"raised_by": tuple(rest)}, False
        for name, other, stricter in _narrowings(trigger):
            raised_by = (*rest[:place], other, *rest[place:])
            yield f"raised by {trigger.event_type} {name}", {"raised_by": raised_by}, stricter


def _narrowings(trigger: Trigger) -> Iterator[tuple[str, Trigger, bool]]:
    for part in _LISTS:
        words: frozenset[str] = getattr(trigger, part)
        for word in sorted(words) if len(words) > 1 or part == "except_section" else ():
            fewer: dict[str, Any] = {part: words - {word}}
            other = replace(trigger, **fewer)
            yield f"without {word}", other, part == "except_section"
    if trigger.inside:
        yield "from outside as well", replace(trigger, inside=False), True


def _of_step(parts: Parts, step: Step) -> Iterator[Mutant]:
    for name, changes in _conditions(step):
        changed = {**parts.steps, step.key: replace(step, **changes)}
        yield Mutant(f"{step.key}: {name}", frozenset({step.key}), replace(parts, steps=changed))


def _conditions(step: Step) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if step.needs_power:
        yield "needs no power state", {"needs_power": ()}
    if step.needs_cover:
        yield "needs no cover state", {"needs_cover": ""}
    if step.reaches_in:
        yield "never reaches in", {"reaches_in": False}
    for key in step.needs_steps:
        left = tuple(other for other in step.needs_steps if other != key)
        yield f"does not need {key}", {"needs_steps": left}
    if step.of_the_bench:
        yield "of the unit", {"scope": "unit"}
