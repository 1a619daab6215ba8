"""Bills go along in a bundle, and keep their numbers and their guard."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from shop.accounts import roles
from shop.bills import bill_triggers, issuing, payments, proving, services
from shop.bills.models import Bill, Payment
from shop.transfer import bundle_import
from tests.bills.conftest import office, with_customer
from tests.helpers import amplifier
from tests.transfer.test_bundles import altered, bundle_of, empty, exported, imported

__all__ = ["office"]
pytestmark = pytest.mark.django_db(transaction=True)


def gone(bench):
    """A unit that was handed back, by the ledger too: an import looks."""
    number = bench.receive(facts=amplifier())
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    return number


def issued(bench, by):
    number = gone(bench)
    with_customer(number)
    services.get_or_create_draft(number, by=by, at=timezone.now())
    return issuing.issue(number, by=by, at=timezone.now())


@pytest.fixture
def books(bench, people, office):
    """Two bills, one part paid and credited, one draft, one unit that is billed nothing."""
    now, desk = timezone.now(), people.desk
    bill = issued(bench, desk)
    issued(bench, desk)
    payments.pay(bill.pk, Decimal(10), bill.issued_on, "cash", by=desk, at=now)
    services.draft_credit(bill.pk, by=desk, at=now)
    services.bill_nothing(gone(bench), "Warranty", by=desk, at=now)
    return now


def test_nothing_is_lost(books, tmp_path):
    raw = exported(books)
    before = bundle_of(raw)["tables"]
    empty()
    imported(raw, tmp_path)
    after = bundle_of(exported(books))["tables"]
    for table in ("bill", "billline", "payment", "numberseries", "nothingtobill"):
        assert before[f"bills.{table}"]
        assert after[f"bills.{table}"] == before[f"bills.{table}"]


def test_numbers_go_on_and_the_guard_stands(books, bench, tmp_path):
    raw = exported(books)
    empty()
    imported(raw, tmp_path)
    assert bill_triggers.faults(connection) == []
    with pytest.raises(IntegrityError), transaction.atomic():
        Bill.objects.exclude(place=None).update(words="x")
    with pytest.raises(IntegrityError), transaction.atomic():
        Payment.objects.update(amount=1)
    bench.by = roles.make_user("technician", "technician")
    assert issued(bench, roles.make_user("desk", "desk")).place == 3
    assert list(proving.series_faults()) == []


def test_a_bundle_with_a_gap_is_refused(books, tmp_path):
    raw = altered(exported(books), lambda body: body.replace(b'"place":2', b'"place":4'))
    empty()
    with pytest.raises(bundle_import.BundleError, match="does not hold: Bills of"):
        imported(raw, tmp_path)
