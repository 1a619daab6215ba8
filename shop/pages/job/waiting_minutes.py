"""How long to wait after a discharge: by the plan of the step, and the minute before the second look."""

from __future__ import annotations

import math
from collections.abc import Iterable

from checklists.engine.checklist import ListedStep
from shop.bench import registry

_PLAN = "discharge"
# What the steps of the pack say before it is measured again: the dielectric gives some of it back.
_SECOND_LOOK_SECONDS = 60


def after_discharge(steps: Iterable[ListedStep]) -> int | None:
    """Return whole minutes for the steps of a card; None when no plan of theirs can be worked out."""
    seconds = [planned for step in steps if (planned := _planned(step)) is not None]
    return math.ceil((max(seconds) + _SECOND_LOOK_SECONDS) / 60) if seconds else None


def _planned(step: ListedStep) -> float | None:
    plan = step.plan
    if plan is None or plan.calculation != _PLAN or plan.missing:
        return None
    result, _ = registry.plan_result(plan.calculation, dict(plan.arguments))
    return float(result["seconds"]) if result else None
