"""What the record of a job says of its money: numbers and sums, no person."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User

from shop.accounts import roles
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.events.bill_credited import BillCredited
from shop.jobs.events.bill_issued import BillIssued
from shop.jobs.events.bill_paid import BillPaid
from shop.jobs.models import LedgerRow


def record_money(
    number: int, event: BillIssued | BillCredited | BillPaid, *, by: User, at: datetime
) -> LedgerRow:
    """Append that a bill was issued, credited or paid, and return the row; also on a closed job."""
    roles.require(by, event.ability)
    with job_transaction(number, by=by, at=at) as tx:
        return tx.write(event)
