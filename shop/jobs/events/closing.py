"""Base of the events that close a job: the unit leaves, and nothing is kept for it any longer."""

from __future__ import annotations

from shop.jobs.events.base import Event, Follower, Transaction
from shop.jobs.trials import trials_of
from shop.parts import orders, stock


class Closing(Event):
    """The unit leaves. The command writes it right after the change of stage."""

    ability = "move"
    people_write_it = False
    on_closed_job = True
    followers = frozenset({Follower.PARTS})

    # The edition of the rules, and what the trials before and after the work show.
    pack: str = ""
    proof: str | None = None
    proved: str | None = None
    clean_trials: int | None = None

    def apply(self, tx: Transaction) -> None:
        """Close the job, set free what was kept and ordered for it, and note what is proved."""
        close(tx)
        self.pack = tx.checklist.pack.digest
        trials = trials_of(tx.record)
        if trials.proof is not None:
            self.proof, self.proved = trials.proof.says, trials.proof.verdict
            self.clean_trials = trials.clean


def close(tx: Transaction) -> None:
    """Close the job, and set free what was kept and ordered for it."""
    tx.job.closed_at = tx.at
    tx.changed("closed_at")
    stock.release(stock.StockActor(tx.by, tx.at, tx.job.number))
    orders.drop_allocations(tx.job.number, tx.at)
