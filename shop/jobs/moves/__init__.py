"""The one door: every write to a job goes through a function of this package.

Each takes the job's number, locks the row, reads the ledger again, checks, writes the change
and its ledger rows in one transaction, and returns fresh objects. Refused, BadInput and
Forbidden mean that nothing was written.
"""

from shop.jobs.moves.hearing import add_photo, ask, hear, tell
from shop.jobs.moves.moving import set_cover, set_power, set_stage
from shop.jobs.moves.receiving import receive
from shop.jobs.moves.recording import record
from shop.jobs.moves.refreshing import push_away, refresh
from shop.jobs.moves.signing import sign, waive

__all__ = [
    "add_photo",
    "ask",
    "hear",
    "push_away",
    "receive",
    "record",
    "refresh",
    "set_cover",
    "set_power",
    "set_stage",
    "sign",
    "tell",
    "waive",
]
