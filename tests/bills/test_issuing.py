"""Issuing: numbers without a gap, what is written down for good, and what is in the way."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from shop.bills import bill_triggers, issuing, payments, proving, queries, services
from shop.bills.models import Bill, BillLine, NumberSeries, Payment
from shop.customers import services as customers
from shop.customers.models import Customer
from shop.estimates.pricing import totals
from shop.jobs.models import Job
from shop.lib.money import rounded
from shop.lib.refusals import Refused
from tests.bills.conftest import agree, left, line, with_customer
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def another(bench, desk, now, **unit):
    number = bench.receive(**unit)
    with_customer(number)
    services.get_or_create_draft(left(number), by=desk, at=now)
    return number


def test_the_first_of_a_year_is_number_one(issued, now):
    day = timezone.localdate(now)
    assert issued.number == f"{day.year}-0001"
    assert (issued.issued_on, issued.due_on) == (day, day + timedelta(days=14))
    assert (issued.net, issued.gross) == (Decimal(160), Decimal("190.40"))


def test_numbers_run_on_and_begin_anew_with_the_year(bench, office, desk, now):
    then = datetime(2031, 12, 30, 12, tzinfo=UTC)
    days = [then, then + timedelta(days=1), then + timedelta(days=2)]
    bills = [issuing.issue(another(bench, desk, now), by=desk, at=day) for day in days]
    assert [bill.number for bill in bills] == ["2031-0001", "2031-0002", "2032-0001"]
    assert list(proving.series_faults()) == []


def test_what_is_rolled_back_leaves_no_gap(bench, office, desk, now):
    first, second = another(bench, desk, now), another(bench, desk, now)

    def issued_and_failed():
        with transaction.atomic():
            return 1 / (issuing.issue(first, by=desk, at=now).place - 1)

    with pytest.raises(ZeroDivisionError):
        issued_and_failed()
    assert issuing.issue(second, by=desk, at=now).place == 1
    assert issuing.issue(first, by=desk, at=now).place == 2


def test_seller_and_buyer_stay_as_they_were(issued, office, people, now):
    office.SHOP_NAME = "Another name"
    customer = Customer.objects.get(name="Mirela Kovač")
    customers.erase(customer, by=people.owner, at=now)
    kept = Bill.objects.get(pk=issued.pk)
    assert kept.seller_name == "Tin Lane Audio"
    assert (kept.buyer_name, kept.buyer_country) == ("Mirela Kovač", "DE")


def test_erasing_a_customer_takes_them_off_a_draft(gone, desk, people, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    Bill.objects.update(buyer_name="Mirela's firm", buyer_address="Somewhere")
    customers.erase(Customer.objects.get(), by=people.owner, at=now)
    assert Bill.objects.values_list("buyer_name", "buyer_address").get() == ("", "")


def test_a_typed_buyer_goes_before_the_customer(gone, desk, now):
    bill = services.get_or_create_draft(gone, by=desk, at=now)
    typed = {"buyer_name": "Firm", "buyer_address": "1 Way", "terms_days": 0}
    typed["delivered_on"] = bill.delivered_on
    services.save_draft(gone, typed, [line()], by=desk)
    bill = issuing.issue(gone, by=desk, at=now)
    assert (bill.buyer_name, bill.buyer_address) == ("Firm", "1 Way")


class TestRefused:
    def test_for_missing_settings_by_their_titles(self, gone, desk, now, office):
        del office.TAX_NUMBER
        office.POSTAL_ADDRESS = office.POST_CODE = ""
        services.get_or_create_draft(gone, by=desk, at=now)
        with pytest.raises(Refused) as refused:
            issuing.issue(gone, by=desk, at=now)
        assert str(refused.value) == (
            "Settings are missing: Street of the shop; Post code; Tax number of the shop."
        )
        assert not NumberSeries.objects.exists()

    def test_for_a_unit_on_the_bench(self, job, office, desk, now):
        with_customer(job)
        services.get_or_create_draft(job, by=desk, at=now)
        with pytest.raises(Refused, match="on the bench"):
            issuing.issue(job, by=desk, at=now)

    def test_for_nobody_to_bill(self, job, office, desk, now):
        services.get_or_create_draft(left(job), by=desk, at=now)
        with pytest.raises(Refused, match="Nobody is on record"):
            issuing.issue(job, by=desk, at=now)

    def test_for_a_sum_of_nothing(self, gone, office, desk, now):
        bill = services.get_or_create_draft(gone, by=desk, at=now)
        given = {"delivered_on": bill.delivered_on, "terms_days": 0}
        services.save_draft(gone, given, [line(price="0")], by=desk)
        with pytest.raises(Refused, match="comes to nothing"):
            issuing.issue(gone, by=desk, at=now)

    def test_for_a_sum_that_was_not_agreed_until_it_says_why(self, bench, job, office, desk, now):
        with_customer(job)
        agree(bench, job, line(), at=now)
        bill = services.get_or_create_draft(left(job), by=desk, at=now)
        given = {"delivered_on": bill.delivered_on, "terms_days": 0}
        services.save_draft(job, given, [line(price="101")], by=desk)
        with pytest.raises(Refused, match="write down why"):
            issuing.issue(job, by=desk, at=now)
        given["differs_because"] = "You asked for a new plug."
        services.save_draft(job, given, [line(price="101")], by=desk)
        assert issuing.issue(job, by=desk, at=now).issued

    def test_for_a_draft_that_was_changed_since(self, gone, desk, now):
        services.get_or_create_draft(gone, by=desk, at=now)
        with pytest.raises(Refused, match="Somebody changed"):
            issuing.issue(gone, by=desk, at=now, seen="0" * 16)

    def test_for_what_is_issued_already(self, issued, desk, now):
        with pytest.raises(Refused, match="no draft"):
            issuing.issue(issued.job_id, by=desk, at=now)


class TestCredit:
    def test_it_takes_the_bill_back_under_the_next_number(self, issued, desk, now):
        services.draft_credit(issued.pk, by=desk, at=now)
        with pytest.raises(Refused, match="why it is credited"):
            issuing.issue(issued.job_id, by=desk, at=now)
        Bill.objects.filter(place=None).update(words="Billed twice.")
        credit = issuing.issue(issued.job_id, by=desk, at=now)
        assert (credit.place, credit.corrects) == (2, issued)
        assert credit.gross == issued.gross
        assert queries.bills().get(pk=issued.pk).owed == 0
        assert queries.remaining(issued) == 0

    def test_no_more_is_credited_than_was_billed(self, issued, desk, now):
        for _ in range(2):
            credit = services.draft_credit(issued.pk, by=desk, at=now)
            given = {"delivered_on": credit.delivered_on, "terms_days": 0, "words": "Goodwill"}
            services.save_draft(issued.job_id, given, [line(price="100")], by=desk)
            if not issued.credits.filter(place__isnull=False).exists():
                issuing.issue(issued.job_id, by=desk, at=now)
        with pytest.raises(Refused, match=r"Only 71.40 EUR"):
            issuing.issue(issued.job_id, by=desk, at=now)

    def test_a_credit_note_is_not_credited(self, issued, desk, now):
        credit = services.draft_credit(issued.pk, by=desk, at=now)
        with pytest.raises(Refused, match="Only a bill"):
            services.draft_credit(credit.pk, by=desk, at=now)

    def test_after_it_the_job_is_billed_anew(self, issued, desk, now):
        assert services.get_or_create_draft(issued.job_id, by=desk, at=now).lines.count() == 0
        services.drop_draft(issued.job_id, by=desk)
        services.draft_credit(issued.pk, by=desk, at=now)
        Bill.objects.filter(place=None).update(words="Wrong")
        issuing.issue(issued.job_id, by=desk, at=now)
        assert services.get_or_create_draft(issued.job_id, by=desk, at=now).lines.count() == 1


class TestTheDatabase:
    """Refuses by itself, whoever writes."""

    @staticmethod
    def refused(words, write):
        with pytest.raises(IntegrityError, match=words), transaction.atomic():
            write()

    def test_an_issued_bill_is_never_changed(self, issued):
        bills = Bill.objects.filter(pk=issued.pk)
        self.refused("never changed", lambda: bills.update(words="x"))
        self.refused("never changed", lambda: bills.update(place=None))
        self.refused("never changed", lambda: bills._raw_delete(bills.db))

    def test_nor_are_its_lines(self, issued):
        lines = BillLine.objects.filter(bill=issued)
        self.refused("never changed", lambda: lines.update(price=1))
        self.refused("never changed", lambda: lines._raw_delete(lines.db))
        self.refused("never changed", lambda: BillLine.objects.create(bill=issued, place=9))

    def test_a_number_follows_the_last(self, issued, bench, desk, now):
        draft = Bill.objects.get(job=another(bench, desk, now))
        values = {name: getattr(issued, name) for name in ("issued_on", "issued_at", "issued_by")}
        values |= {"due_on": issued.due_on, "net": 1, "gross": 1, "year": issued.year}
        bills = Bill.objects.filter(pk=draft.pk)
        for place in (1, 3):
            self.refused("follows the last", lambda p=place: bills.update(place=p, **values))
        assert bills.update(place=2, **values) == 1

    def test_no_bill_comes_with_its_number(self, issued):
        issued.pk = None
        issued.place = 2
        self.refused("follows the last", lambda: issued.save(force_insert=True))

    def test_a_payment_is_never_changed(self, issued, desk, now):
        payments.pay(issued.pk, Decimal(1), issued.issued_on, "cash", by=desk, at=now)
        rows = Payment.objects.all()
        self.refused("never changed", lambda: rows.update(amount=2))
        self.refused("never changed", lambda: rows._raw_delete(rows.db))

    def test_every_trigger_is_there(self, db):
        assert bill_triggers.faults(connection) == []

    def test_a_gap_is_found(self, issued):
        NumberSeries.objects.update(last=3)
        assert list(proving.series_faults()) == [
            f"Bills of {issued.year}: 1 are there, the last number is 1, and 3 were given out."
        ]

    def test_another_sum_than_that_of_the_lines_is_found(self, issued):
        bill_triggers.remove(connection)
        Bill.objects.update(gross=Decimal("190.41"))
        assert list(proving.faults()) == [
            f"Bill {issued.number} says 190.410, its lines come to 190.40."
        ]


class TestTheRecordOfTheJob:
    def rows(self, job):
        return [
            (row.event_type, row.data)
            for row in Job.objects.get(pk=job).ledger.order_by("sequence")
        ]

    def test_says_what_was_billed_paid_and_taken_back(self, issued, desk, now):
        day = issued.issued_on
        payments.pay(issued.pk, Decimal("190.4"), day, "transfer", "from Mirela", by=desk, at=now)
        services.draft_credit(issued.pk, by=desk, at=now)
        Bill.objects.filter(place=None).update(words="Billed twice.")
        credit = issuing.issue(issued.job_id, by=desk, at=now)
        money = {"currency": "EUR"}
        assert self.rows(issued.job_id)[-3:] == [
            ("bill_issued", {"bill": issued.number, "total": "190.40"} | money),
            ("bill_paid", {"bill": issued.number, "amount": "190.40", "way": "transfer"} | money),
            (
                "bill_credited",
                {"credit": credit.number, "bill": issued.number, "total": "190.40"} | money,
            ),
        ]

    def test_a_deposit_on_the_bench_takes_no_power_and_no_signature(self, bench, desk, now):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
        before = bench.traveller(number)
        draft = services.get_or_create_draft(number, by=desk, at=now)
        payments.pay(draft.pk, Decimal(50), now.date(), "cash", by=desk, at=now)
        after = bench.traveller(number)
        assert after.job.power == before.job.power == "limited"
        standing = [[one.key for one in t.checklist.steps if one.stands] for t in (before, after)]
        assert standing[0] == standing[1]
        assert self.rows(number)[-1] == (
            "bill_paid",
            {"bill": "", "amount": "50.00", "currency": "EUR", "way": "cash"},
        )

    def test_a_refused_issue_leaves_no_row(self, gone, office, desk, now):
        services.get_or_create_draft(gone, by=desk, at=now)
        before = self.rows(gone)
        office.TAX_NUMBER = ""
        with pytest.raises(Refused):
            issuing.issue(gone, by=desk, at=now)
        assert self.rows(gone) == before


AMOUNTS = st.tuples(
    st.decimals(0, 100, places=3),
    st.decimals(0, 5000, places=4),
    st.sampled_from([Decimal(0), Decimal(7), Decimal(19), Decimal("5.5")]),
)


@given(st.lists(AMOUNTS, min_size=1, max_size=12), st.sampled_from(["EUR", "JPY", "GBP"]))
def test_sums_are_those_of_rounded_lines(rows, currency):
    """EN 16931-1, BR-CO-10, 13, 14, 15 and 17; rule text from memory."""
    bill = Bill(currency=currency)
    lines = [BillLine(bill=bill, quantity=q, price=p, tax_rate=r) for q, p, r in rows]
    sums = totals([one.priced for one in lines], currency)
    assert sums.net == sum(rounded(q * p, currency) for q, p, _ in rows)
    for tax in sums.taxes:
        base = sum(rounded(q * p, currency) for q, p, r in rows if r == tax.rate)
        assert (tax.base, tax.amount) == (base, rounded(base * tax.rate / 100, currency))
    assert sums.gross == sums.net + sum(tax.amount for tax in sums.taxes)
