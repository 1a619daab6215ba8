"""What comes from the customer of a unit, and word that goes to the customer."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from shop.jobs.commands.transaction import job_transaction
from shop.jobs.events.customer_told import CustomerTold
from shop.jobs.events.estimate_answered import EstimateAnswered
from shop.jobs.events.question_asked import QuestionAsked
from shop.jobs.events.reading import build
from shop.jobs.models import LedgerRow
from shop.lib import text
from shop.lib.refusals import refuse

LONGEST_QUESTION = 2000


def record_estimate_answer(
    number: int, answer: str, *, version: int, note: str, at: datetime
) -> LedgerRow:
    """Append the customer's answer to a version of the estimate, given by link, and return the row.

    Refused when the job is closed, when another version has been sent since, or when this one
    has had its yes or no: what was agreed is not taken back by a click. BadInput for bad data.
    """
    given = {"answer": answer, "version": version, "way": "link", "note": note}
    event = build(EstimateAnswered, given)
    with job_transaction(number, by=None, at=at) as tx:
        if tx.job.closed:
            raise refuse("closed", _("The unit has left the bench; please ring the shop."))
        agreed = tx.record.agreement
        if agreed.sent is None or agreed.sent.get("version") != version:
            raise refuse("other-version", _("There is a newer estimate; please look at it first."))
        if agreed.answer == "yes":
            raise refuse("answered", _("You have said yes already; to change it, ring the shop."))
        if agreed.answer == "no":
            raise refuse("answered", _("You have said no already; to change it, ring the shop."))
        return tx.write(event)


def record_question(number: int, question: str, *, at: datetime) -> LedgerRow:
    """Append a question of the customer, given by link; BadInput when there are no words. Also when closed."""
    words = text.take("question", question, LONGEST_QUESTION, needed=True)
    with job_transaction(number, by=None, at=at) as tx:
        return tx.write(QuestionAsked(text=words))


def record_customer_told(
    number: int, about: str, *, way: str, at: datetime, by: User | None = None
) -> LedgerRow:
    """Note that the customer was told of something; the address stays out of the ledger."""
    with job_transaction(number, by=by, at=at) as tx:
        return tx.write(CustomerTold(about=about, way=way))
