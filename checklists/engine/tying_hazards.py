"""Ties the table of hazards to the steps: what ends a sign-off is derived from what raises."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from checklists.engine.hazards import Hazard
from checklists.engine.history import Trigger
from checklists.engine.pack import Step
from checklists.engine.words import widened

# What ends a sign-off about the set-up around the unit. A power cycle alone does not.
_BENCH_ENDS = (
    Trigger(event_type="received"),
    Trigger(event_type="cover_removed"),
    Trigger(event_type="cover_fitted"),
    Trigger(event_type="work_done"),
    Trigger(event_type="part_fitted"),
    Trigger(event_type="night_passed"),
    Trigger(event_type="stage_changed", stage=frozenset({"awaiting_parts"})),
)


def tied(hazards: Mapping[str, Hazard], steps: Mapping[str, Step]) -> tuple[Hazard, ...]:
    """Return the hazards with the shop's own steps beside their own, and with all that they meet.

    What is a danger of the unit under mains is one when it leaves as well.
    """
    return tuple(_tied(hazard, steps) for hazard in hazards.values())


def _tied(hazard: Hazard, steps: Mapping[str, Step]) -> Hazard:
    own = tuple(key for key, step in steps.items() if hazard.key in step.clears)
    of_unit = any(not steps[key].of_the_bench for key in hazard.cleared_by)
    meets = widened(hazard.meets) if of_unit else hazard.meets
    return replace(hazard, also=own, meets=meets)


def with_ends(steps: Mapping[str, Step], hazards: Iterable[Hazard]) -> dict[str, Step]:
    """Return the steps with the hazards that they clear and all that ends their sign-offs.

    What ends them stands in the order of the table.
    """
    ends: dict[str, list[Trigger]] = {key: list(step.invalidated_by) for key, step in steps.items()}
    cleared: dict[str, set[str]] = {key: set() for key in steps}
    for hazard in hazards:
        for key in (*hazard.cleared_by, *hazard.also):
            ends[key] += hazard.raised_by
            cleared[key].add(hazard.key)
    for key, step in steps.items():
        ends[key] += _BENCH_ENDS if step.of_the_bench else ()
    return {
        key: replace(
            step,
            invalidated_by=tuple(dict.fromkeys(ends[key])),
            hazards=frozenset(cleared[key]),
        )
        for key, step in steps.items()
    }
