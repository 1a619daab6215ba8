"""The one door: every write to a job goes through a function of this package.

Each takes the job's number, locks the row, reads the ledger again, checks, writes the change
and its ledger rows in one transaction, and returns fresh objects. Refused, BadInput and
Forbidden mean that nothing was written.
"""

from shop.jobs.commands.contact import (
    record_customer_told,
    record_estimate_answer,
    record_question,
)
from shop.jobs.commands.correcting import correct_intake, join
from shop.jobs.commands.receiving import receive
from shop.jobs.commands.recording import add_photo, record
from shop.jobs.commands.refreshing import defer, follow_settings, refresh
from shop.jobs.commands.signing import sign, waive
from shop.jobs.commands.transitions import set_cover, set_power, set_stage

__all__ = [
    "add_photo",
    "correct_intake",
    "defer",
    "follow_settings",
    "join",
    "receive",
    "record",
    "record_customer_told",
    "record_estimate_answer",
    "record_question",
    "refresh",
    "set_cover",
    "set_power",
    "set_stage",
    "sign",
    "waive",
]
