"""What was taken down at intake was wrong: the name of the unit, the complaint, whose it is."""

from __future__ import annotations

from typing import Any

from checklists.engine import history
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record
from shop.lib.text import spaced


class IntakeCorrected(Event):
    """The intake is corrected; old and new of each field stand in the row.

    Customers stand in it by their number, never by name.
    """

    event_type = "intake_corrected"
    ability = "receive"
    people_write_it = False
    followers = frozenset({Follower.READINGS})

    # Field: {"from": old, "to": new}.
    changes: dict[str, dict[str, Any]]
    # Hazards that earlier jobs of the unit left up, when the correction made it another unit.
    carried: list[str] | None = None

    def apply(self, tx: Transaction) -> None:
        """Put a complaint on the job."""
        if "complaint" in self.changes:
            tx.job.complaint = self.changes["complaint"]["to"]
            tx.changed("complaint")

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep the complaint beside those that were recorded."""
        change = row.data["changes"].get("complaint")
        if change is not None:
            record.complaints.append((row.sequence, stored.text(change, "to")))

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say what was left up by earlier jobs."""
        return cls.happened(row, carried=frozenset(stored.texts(row.data, "carried")))

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say old and new of each field."""
        return [
            f"{spaced(name)}: {_said(change['from'])} is now {_said(change['to'])}"
            for name, change in data["changes"].items()
        ]


def _said(value: Any) -> str:
    return str(value) if value not in ("", None) else "nothing"
