"""Bills that are issued at one moment: no number twice, no gap."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.bills import issuing, payments, proving, services
from shop.bills.models import Bill, Payment
from shop.lib.refusals import Refused
from tests.bills.conftest import left, office, with_customer
from tests.factories import PersonFactory
from tests.races.test_races import together, unexpected

__all__ = ["office"]

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS, AT_ONCE = 4, 4


@pytest.fixture
def clerk(db):
    return PersonFactory(username="dee", role="desk")


def drafted(bench, clerk):
    number = left(bench.receive())
    with_customer(number)
    services.get_or_create_draft(number, by=clerk, at=timezone.now())
    return number


def test_bills_of_many_jobs_run_on_without_a_gap(bench, office, clerk):
    for _ in range(ROUNDS):
        numbers = [drafted(bench, clerk) for _ in range(AT_ONCE)]
        acts = [lambda n=n: issuing.issue(n, by=clerk, at=timezone.now()) for n in numbers]
        assert unexpected(together(*acts)) == []
    places = sorted(Bill.objects.values_list("place", flat=True))
    assert places == list(range(1, ROUNDS * AT_ONCE + 1))
    assert list(proving.series_faults()) == []


def test_one_draft_is_issued_once(bench, office, clerk):
    for turn in range(ROUNDS):
        number = drafted(bench, clerk)
        act = lambda n=number: issuing.issue(n, by=clerk, at=timezone.now())  # noqa: E731
        results = together(act, act)
        assert unexpected(results) == []
        assert sum(isinstance(one, Refused) for one in results) == 1
        assert Bill.objects.filter(place__isnull=False).count() == turn + 1


def test_two_people_start_one_draft(bench, office, clerk):
    for _ in range(ROUNDS):
        number = left(bench.receive())
        act = lambda n=number: services.get_or_create_draft(n, by=clerk, at=timezone.now())  # noqa: E731
        first, second = together(act, act)
        assert first == second


def test_money_goes_back_once(bench, office, clerk):
    number = drafted(bench, clerk)
    bill = issuing.issue(number, by=clerk, at=timezone.now())
    pay = lambda amount: payments.pay(  # noqa: E731
        bill.pk, bill.gross * amount, bill.issued_on, "cash", by=clerk, at=timezone.now()
    )
    pay(1)
    results = together(lambda: pay(-1), lambda: pay(-1))
    assert unexpected(results) == []
    assert sum(Payment.objects.values_list("amount", flat=True)) == 0
