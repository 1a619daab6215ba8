"""The plug was recorded as out, and is in, or nobody is sure: the unit is live until it is seen out."""

from __future__ import annotations

from shop.jobs import guards
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Transaction
from shop.lib.refusals import Refusal


class PlugDoubted(Event):
    """The plug may be in after all. It takes away what mains on takes away, and grants nothing."""

    event_type = "plug_doubted"
    # Whoever may say that the plug is out may say that it is not.
    ability = "isolate"
    people_write_it = False

    def check(self, tx: Transaction) -> list[Refusal]:
        """That the record does not say so already."""
        return guards.against_doubting(tx.job)

    def apply(self, tx: Transaction) -> None:
        """Ask for the plug: until somebody records it as out, the unit is live."""
        tx.job.unplug_due = True

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say what to do about it."""
        return ["the plug is in, or nobody is sure: treat it as live"]
