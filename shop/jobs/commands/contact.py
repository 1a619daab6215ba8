"""What comes to a job from outside its bench: the owner's answer, word to the owner, pictures."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User

from shop.accounts import roles
from shop.jobs import kinds
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.models import LedgerRow
from shop.lib import text
from shop.lib.refusals import refuse

LONGEST_QUESTION = 2000


def record_estimate_answer(
    number: int, answer: str, *, version: int, note: str, at: datetime
) -> LedgerRow:
    """Append the owner's answer to a version of the estimate, given by link, and return the row.

    Refused when the job is closed, when another version has been sent since, or when this one
    has had its yes or no: what was agreed is not taken back by a click. BadInput for bad data.
    """
    given = {"answer": answer, "version": version, "way": "link", "note": note}
    data = kinds.clean("estimate_answered", given)
    with job_transaction(number, by=None, at=at) as tx:
        if tx.job.closed:
            raise refuse("closed", "The unit has left the bench; please ring the shop.")
        found = tx.record.agreement
        if found.sent is None or found.sent.get("version") != version:
            raise refuse("other-version", "There is a newer estimate; please look at it first.")
        if found.answer in ("yes", "no"):
            raise refuse(
                "answered", f"You have said {found.answer} already; to change it, ring the shop."
            )
        return tx.write("estimate_answered", data)


def record_question(number: int, question: str, *, at: datetime) -> LedgerRow:
    """Append a question of the owner, given by link; BadInput when there are no words. Also when closed."""
    words = text.take("question", question, LONGEST_QUESTION, needed=True)
    with job_transaction(number, by=None, at=at) as tx:
        return tx.write("question_asked", {"text": words})


def record_owner_told(
    number: int, about: str, *, way: str, at: datetime, by: User | None = None
) -> LedgerRow:
    """Note that the owner was told of something; the address stays out of the ledger."""
    with job_transaction(number, by=by, at=at) as tx:
        return tx.write("owner_told", {"about": about, "way": way})


def add_photo(number: int, told: dict[str, Any], *, by: User, at: datetime) -> LedgerRow:
    """Note a picture: what it shows and the SHA-256 by which it can be told; also when closed."""
    roles.require(by, "note")
    with job_transaction(number, by=by, at=at) as tx:
        return tx.write("photo_added", told)
