"""What the customer reads of the money: what is owed, until when, and how to pay it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils.functional import Promise
from django.utils.translation import pgettext_lazy
from stdnum import iban

from shop.bills import payment_code, queries
from shop.bills.models import Bill
from shop.jobs.models import Job
from shop.lib.money import rounded

# How an issued bill stands (`queries.state`), as the customer reads it.
STATES: dict[str, str | Promise] = {
    "credit note": pgettext_lazy("bill", "credit note"),
    "to be given back": pgettext_lazy("bill", "to be given back"),
    "credited": pgettext_lazy("bill", "credited"),
    "paid": pgettext_lazy("bill", "paid"),
    "overdue": pgettext_lazy("bill", "overdue"),
    "part paid": pgettext_lazy("bill", "part paid"),
    "open": pgettext_lazy("bill", "open"),
}


@dataclass(frozen=True)
class ShownBill:
    """An issued bill or credit note, with what is owed of it and the code that pays it."""

    bill: Bill
    state: str
    owed: Decimal
    code: str

    @property
    def account(self) -> str:
        """The account in groups of four, as it is read off."""
        return iban.format(self.bill.seller_iban) if self.bill.seller_iban else ""


def shown_bills(job: Job, today: date) -> list[ShownBill]:
    """Return what was issued for a job, newest first."""
    return [_shown(bill, today) for bill in queries.of_job(job) if bill.issued]


def _shown(bill: Bill, today: date) -> ShownBill:
    owed = Decimal(0) if bill.is_credit else rounded(bill.owed, bill.currency)  # type: ignore[attr-defined]
    code = payment_code.svg_of(bill, owed, inline=True)
    state = queries.state(bill, today)
    return ShownBill(bill, str(STATES.get(state, state)), owed, code)
