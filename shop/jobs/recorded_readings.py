"""Hours and counts that the record of a job knows, so that nobody types them."""

from __future__ import annotations

from checklists.engine.checklist import ListedStep
from checklists.engine.roles import ReadingRole, StepRole
from shop.jobs.record import Record


def recorded_readings(record: Record, step: ListedStep) -> dict[str, float]:
    """Return the readings of a step that the record knows, by quantity, in the step's unit.

    Hours of a soak that has passed, and trials without the fault once any trial is on record.
    What is measured is never among them.
    """
    role = step.step.role
    if role is StepRole.SOAK and record.soak == "passed" and record.soak_run is not None:
        return {_quantity(step, ReadingRole.HOURS): round(record.soak_run.hours, 2)}
    if role is StepRole.CLEAN_TRIALS and record.trials:
        return {_quantity(step, ReadingRole.COUNT): float(record.clean_trials_counted)}
    return {}


def _quantity(step: ListedStep, role: ReadingRole) -> str:
    return step.step.reading_with_role(role).quantity
