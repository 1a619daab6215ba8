"""Payments, deposits, and what is owed."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from shop.bills import issuing, payments, queries, services
from shop.bills.models import Bill, NothingToBill
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.bills.conftest import left, with_customer

pytestmark = pytest.mark.django_db


@pytest.fixture
def pay(desk, now):
    def paid(bill, amount, way="transfer", on=None):
        on = on or timezone.localdate(now)
        return payments.pay(bill.pk, Decimal(amount), on, way, by=desk, at=now)

    return paid


def state(bill, now, days=0):
    today = timezone.localdate(now) + timedelta(days=days)
    return queries.state(queries.bills().get(pk=bill.pk), today)


def test_a_bill_is_open_part_paid_and_paid(issued, pay, now):
    assert state(issued, now) == "open"
    pay(issued, "100")
    assert state(issued, now) == "part paid"
    assert queries.bills().get().owed == Decimal("90.40")
    pay(issued, "90.40", "cash")
    assert state(issued, now) == "paid"
    assert not queries.outstanding().exists()


def test_the_day_after_it_is_due_it_is_overdue(issued, now):
    assert state(issued, now, 14) == "open"
    assert state(issued, now, 15) == "overdue"


def test_what_was_paid_too_much_is_given_back(issued, pay, now):
    pay(issued, "200")
    assert state(issued, now) == "to be given back"
    pay(issued, "-9.60", "cash")
    assert state(issued, now) == "paid"
    with pytest.raises(Refused, match=r"Only 190.40 EUR came"):
        pay(issued, "-200")


def test_a_deposit_stands_on_the_bill(gone, desk, pay, now):
    draft = services.get_or_create_draft(gone, by=desk, at=now)
    pay(draft, "50", "cash")
    with pytest.raises(Refused, match="Money came"):
        services.drop_draft(gone, by=desk)
    bill = issuing.issue(gone, by=desk, at=now)
    assert bill.deposit == 50
    assert queries.bills().get().owed == Decimal("140.40")


def test_a_deposit_is_taken_before_the_unit_leaves(bench, office, desk, pay, now):
    number = bench.receive()
    with_customer(number)
    pay(services.get_or_create_draft(number, by=desk, at=now), "30")
    services.draft_anew(left(number), by=desk)
    assert issuing.issue(number, by=desk, at=now).deposit == 30


@pytest.mark.parametrize("amount", ["0", "NaN", "0.001", "1e20", "Infinity"])
def test_an_amount_that_is_none_is_named(issued, pay, amount):
    with pytest.raises(BadInput, match="amount"):
        pay(issued, amount)


def test_day_and_way_are_checked(issued, pay, now):
    with pytest.raises(BadInput, match="paid_on"):
        pay(issued, "1", on=timezone.localdate(now) + timedelta(days=1))
    with pytest.raises(BadInput, match="way"):
        pay(issued, "1", "gold")


def test_a_credit_note_takes_no_money(issued, desk, pay, now):
    credit = services.draft_credit(issued.pk, by=desk, at=now)
    with pytest.raises(Refused, match="credit note"):
        pay(credit, "1")


def test_who_may_not_bill_takes_no_money(issued, people, now):
    with pytest.raises(Forbidden):
        payments.pay(issued.pk, Decimal(1), issued.issued_on, "cash", by=people.viewer, at=now)


class TestAgeing:
    @pytest.mark.parametrize(
        ("days", "age"),
        [
            (13, "not due"),
            (14, "0 to 30"),
            (44, "0 to 30"),
            (45, "31 to 60"),
            (74, "31 to 60"),
            (75, "61 to 90"),
            (104, "61 to 90"),
            (105, "more than 90"),
        ],
    )
    def test_by_days_since_it_was_due(self, issued, now, days, age):
        [euros] = queries.ageing(timezone.localdate(now) + timedelta(days=days))
        assert {name: owed for name, owed in euros.by_age if owed} == {age: Decimal("190.40")}
        assert (euros.currency, euros.total) == ("EUR", Decimal("190.40"))

    def test_what_is_paid_is_not_there(self, issued, pay, now):
        pay(issued, "190.40")
        assert queries.ageing(timezone.localdate(now)) == []


class TestToBill:
    def test_what_left_and_nobody_billed(self, gone, desk, now):
        assert list(queries.to_bill()) == [services.locked(gone)]
        services.get_or_create_draft(gone, by=desk, at=now)
        assert queries.to_bill().exists()
        issuing.issue(gone, by=desk, at=now)
        assert not queries.to_bill().exists()

    def test_not_what_is_here_or_is_billed_nothing(self, job, office, desk, now):
        assert not queries.to_bill().exists()
        services.bill_nothing(left(job), "Warranty", by=desk, at=now)
        assert not queries.to_bill().exists()

    def test_a_declined_unit_where_a_look_costs_something(self, job, office):
        left(job, "withdrawn")
        assert queries.to_bill().exists()
        office.INSPECTION_FEE = Decimal(0)
        assert not queries.to_bill().exists()

    def test_since_a_day(self, gone, now):
        today = timezone.localdate(now)
        assert queries.to_bill(today).exists()
        assert not queries.to_bill(today + timedelta(days=1)).exists()


CENTS = st.integers(-20_000, 20_000).filter(bool).map(lambda n: Decimal(n) / 100)


@given(st.lists(CENTS, max_size=8))
def test_what_is_owed_is_what_was_billed_less_what_came(amounts):
    """The states follow the balance, whatever the order of the payments."""
    bill = Bill(place=1, year=2031, currency="EUR", gross=Decimal(100), due_on=None)
    bill.paid, bill.credited = sum(amounts, Decimal(0)), Decimal(0)
    bill.owed = bill.gross - bill.paid
    words = queries.state(bill, timezone.localdate())
    assert (words == "paid") is (bill.owed == 0)
    assert (words == "to be given back") is (bill.owed < 0)
    assert (words in ("open", "part paid")) is (bill.owed > 0)


def test_units_that_left_before_there_were_bills_wait_for_none(job, office, db):
    last = MigrationLoader(connection).get_migration("bills", "0003_past_is_not_billed")
    note = last.operations[0].code
    left(job)
    note(apps, None)
    assert not queries.to_bill().exists()
    note(apps, None)
    assert NothingToBill.objects.get().by is None
