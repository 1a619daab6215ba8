"""The parts that steps of a pack play for the shop, so that the shop knows no step by its key.

A closed list: a pack gives each role to one step (`role = "soak"`) and the role's readings to
readings of that step. A pack that leaves one out does not load, for what the shop checks under
that role would go unchecked.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class StepRole(StrEnum):
    """What a step is to the shop."""

    SOAK = "soak"
    CLEAN_TRIALS = "clean-trials"
    OUTPUT_OFFSET = "output-offset"
    MADE_UNUSABLE = "made-unusable"

    @property
    def does(self) -> str:
        """What the shop does with the step, in one line."""
        return STEP_ROLES[self].does


class ReadingRole(StrEnum):
    """What a reading is to the shop, within a step that has a role."""

    HOURS = "hours"
    HIGHEST_SINK = "highest-sink"
    COUNT = "count"
    OFFSET = "offset"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTerms:
    """What a reading has to be: its unit, the ends that need a limit, whether it may be left out."""

    unit: str
    limits: tuple[str, ...]
    optional: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleTerms:
    """What the shop does with a step of this role, in one line, and the readings that it needs."""

    does: str
    readings: dict[ReadingRole, ReadingTerms]
    # Whether the step has to be a hold.
    held: bool = True


STEP_ROLES: dict[StepRole, RoleTerms] = {
    StepRole.SOAK: RoleTerms(
        does="Plans a soak by its hours, judges it by its sink limit, refuses a pass after it failed.",
        readings={
            ReadingRole.HOURS: ReadingTerms(unit="h", limits=("min",)),
            ReadingRole.HIGHEST_SINK: ReadingTerms(unit="C", limits=("max",), optional=True),
        },
    ),
    StepRole.CLEAN_TRIALS: RoleTerms(
        does="Refuses a pass that claims more trials without the fault than are on record.",
        readings={ReadingRole.COUNT: ReadingTerms(unit="trials", limits=("min",))},
    ),
    StepRole.OUTPUT_OFFSET: RoleTerms(
        does="Judges the offset read during a soak by its limits.",
        readings={ReadingRole.OFFSET: ReadingTerms(unit="mV", limits=("min", "max"))},
    ),
    StepRole.MADE_UNUSABLE: RoleTerms(
        does="Lets a unit with a known hazard be handed back.", readings={}, held=False
    ),
}
