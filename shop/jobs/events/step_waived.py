"""A step was waived, with the reason."""

from __future__ import annotations

from dataclasses import replace

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.signoffs import SignOff
from shop.jobs.ledger import AnyRow


class StepWaived(SignOff):
    """A step was waived where the pack lets this role do so."""

    event_type = "step_waived"

    result: str = "waived"
    reason: str
    # What is done instead, as the pack asked for it then; rows of before have none.
    instead: str = ""
    # After a fail: the row of the new look that it rests on.
    look: int = 0

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say also what it rests on."""
        return replace(super().for_history(row), look=stored.whole(row.data, "look") or 0)

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say the step, the reason, and what is done instead."""
        instead = stored.text(data, "instead")
        said = [stored.text(data, "reason"), f"Instead: {instead}" if instead else ""]
        said += [f"Looked at again: row {data['look']}"] if data.get("look") else []
        return [f"{data['title']}: {data['result']}", *filter(None, said)]
