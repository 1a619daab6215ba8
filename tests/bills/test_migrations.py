"""Bills that were issued before a column came are as they were, and guarded as they were."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor

from shop.bills import bill_triggers, issuing, services
from shop.bills.models import Bill

pytestmark = pytest.mark.django_db(transaction=True)


def _migrate(name: str) -> None:
    executor = MigrationExecutor(connection)
    executor.migrate([("bills", name)])


# Of bills from before a column, these are empty, and said by none of their papers.
CAME = (
    "seller_post_code",
    "seller_city",
    "buyer_post_code",
    "buyer_city",
    "untaxed_as",
    "language",
)


def test_columns_come_to_bills_that_are_issued(gone, office, desk, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    before = Bill.objects.filter(pk=issuing.issue(gone, by=desk, at=now).pk).values().get()
    before |= dict.fromkeys(CAME, "") | {"warranted_until": None}
    try:
        _migrate("0003_past_is_not_billed")
        assert bill_triggers.faults(connection) == []
    finally:
        _migrate("0007_language")
    assert Bill.objects.values().get() == before
    assert bill_triggers.faults(connection) == []
    with pytest.raises(IntegrityError), transaction.atomic():
        Bill.objects.update(seller_bic="COBADEFFXXX")
