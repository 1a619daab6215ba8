"""A step was waived, with the reason."""

from __future__ import annotations

from shop.jobs.events import stored
from shop.jobs.events.signoffs import SignOff


class StepWaived(SignOff):
    """A step was waived where the pack lets this role do so."""

    event_type = "step_waived"

    result: str = "waived"
    reason: str

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say the step and the reason."""
        return [f"{data['title']}: {data['result']}", *filter(None, [stored.text(data, "reason")])]
