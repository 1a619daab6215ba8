"""A step was waived, with the reason."""

from __future__ import annotations

from shop.jobs.events import stored
from shop.jobs.events.signoffs import SignOff


class StepWaived(SignOff):
    """A step was waived where the pack lets this role do so."""

    event_type = "step_waived"

    result: str = "waived"
    reason: str
    # What is done instead, as the pack asked for it then; rows of before have none.
    instead: str = ""

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say the step, the reason, and what is done instead."""
        instead = stored.text(data, "instead")
        said = [stored.text(data, "reason"), f"Instead: {instead}" if instead else ""]
        return [f"{data['title']}: {data['result']}", *filter(None, said)]
