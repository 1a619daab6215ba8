"""The one door: every write to a job goes through a function of this package.

Each takes the job's number, locks the row, reads the ledger again, checks, writes the change
and its ledger rows in one transaction, and returns fresh objects. Refused, BadInput and
Forbidden mean that nothing was written.
"""

from shop.jobs.commands.billing import record_money
from shop.jobs.commands.contact import (
    record_customer_told,
    record_estimate_answer,
    record_question,
)
from shop.jobs.commands.correcting import correct_intake, join
from shop.jobs.commands.postponing import notices as postponed_notices
from shop.jobs.commands.receiving import receive
from shop.jobs.commands.receiving_many import (
    Draft,
    Summaries,
    draft,
    jobs_by_reference,
    open_jobs_by_identity,
    receive_many,
)
from shop.jobs.commands.recording import add_photo, record
from shop.jobs.commands.refreshing import defer, follow_settings, refresh
from shop.jobs.commands.signing import sign, sign_together, waive
from shop.jobs.commands.soaks import end_soak_well, start_soak
from shop.jobs.commands.taking_over import take_over_facts
from shop.jobs.commands.transitions import doubt_plug, set_cover, set_power, set_stage
from shop.jobs.commands.undoing import undo, undoable
from shop.jobs.commands.units import AlreadyHere

__all__ = [
    "AlreadyHere",
    "Draft",
    "Summaries",
    "add_photo",
    "correct_intake",
    "defer",
    "doubt_plug",
    "draft",
    "end_soak_well",
    "follow_settings",
    "jobs_by_reference",
    "join",
    "open_jobs_by_identity",
    "postponed_notices",
    "receive",
    "receive_many",
    "record",
    "record_customer_told",
    "record_estimate_answer",
    "record_money",
    "record_question",
    "refresh",
    "set_cover",
    "set_power",
    "set_stage",
    "sign",
    "sign_together",
    "start_soak",
    "take_over_facts",
    "undo",
    "undoable",
    "waive",
]
