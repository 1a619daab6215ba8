"""Base of the sign-off and the waiver of a step: what both are bound to."""

from __future__ import annotations

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.base import Event
from shop.jobs.ledger import AnyRow


class SignOff(Event):
    """A step was signed or waived, as it stood then: its content hash, the edition of the pack."""

    ability = "sign"
    people_write_it = False

    step: str
    title: str
    substance: str
    pack: str
    result: str

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say which step, how, and what it is bound to."""
        return cls.happened(
            row,
            step=stored.needed_text(row.data, "step"),
            result=stored.needed_text(row.data, "result"),
            content_hash=stored.text(row.data, "substance"),
        )
