"""A derived checklist as JSON: what the API sends and the shell prints."""

from __future__ import annotations

from typing import Any

from checklists.engine.checklist import Checklist, ListedStep
from shop.bench import registry


def step_out(step: ListedStep) -> dict[str, Any]:
    """Return a step as JSON, its plan worked out."""
    shape = step.as_dict()
    if step.plan is not None:
        result, why_not = registry.plan_result(step.plan.calculation, dict(step.plan.arguments))
        shape["plan"] |= {"result": result, "why_not": why_not}
    return shape


def checklist_out(checklist: Checklist) -> dict[str, Any]:
    """Return a checklist as JSON, plans worked out."""
    return checklist.as_dict() | {"steps": [step_out(step) for step in checklist.steps]}
