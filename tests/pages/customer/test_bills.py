"""What a customer reads of the bill of their unit, and of no other."""

from __future__ import annotations

from decimal import Decimal

import pytest
import segno
from django.test import Client
from django.urls import reverse
from django.utils import translation

from shop.bills import payments, services
from shop.bills.models import Bill
from shop.customers.links import keys
from shop.pages.customer.bills import shown_bills
from tests.bills.conftest import desk, gone, issued, office
from tests.pages.customer.test_views import page
from tests.translated import say

__all__ = ["desk", "gone", "issued", "office"]
pytestmark = pytest.mark.django_db


@pytest.fixture
def link(issued, now):
    return keys.link_for(issued.job, now=now)


@pytest.fixture
def customer():
    return Client()


def paper(customer, link, key):
    return customer.get(reverse("your-bill", args=[keys.token(link), key]))


def test_what_is_owed_and_how_to_pay_it(customer, link, issued):
    text = page(customer, link)
    for words in (f"Bill {issued.number}", "190.40 EUR", "DE89 3704 0044 0532 0130 00", "<svg"):
        assert words in text
    answer = paper(customer, link, issued.pk)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["X-Robots-Tag"] == "noindex"
    assert answer.content.startswith(b"%PDF")


def test_the_code_is_for_what_is_left(customer, link, issued, desk, now):
    day = issued.issued_on
    payments.pay(issued.pk, Decimal("100"), day, "transfer", by=desk, at=now)
    text = page(customer, link)
    drawn = text[text.index("<svg") : text.index("</svg>") + 6]
    meant = segno.helpers.make_epc_qr(
        name="Tin Lane Audio", iban="DE89370400440532013000", amount=Decimal("90.40"),
        text=issued.number, encoding="utf-8",
    )  # fmt: skip
    assert drawn == meant.svg_inline(border=2, omitsize=True, light="white")


def test_how_it_stands_is_said_in_the_language_of_the_page(monkeypatch, issued, desk, now):
    say(monkeypatch, "de", {"bill\x04open": "offen", "bill\x04paid": "bezahlt"})
    today = issued.issued_on
    with translation.override("de"):
        assert [one.state for one in shown_bills(issued.job, today)] == ["offen"]
        payments.pay(issued.pk, issued.gross, today, "transfer", by=desk, at=now)
        assert [one.state for one in shown_bills(issued.job, today)] == ["bezahlt"]
    assert [one.state for one in shown_bills(issued.job, today)] == ["paid"]


def test_what_is_paid_asks_for_nothing(customer, link, issued, desk, now):
    payments.pay(issued.pk, issued.gross, issued.issued_on, "transfer", by=desk, at=now)
    text = page(customer, link)
    assert "<strong>paid</strong>" in text
    assert "<svg" not in text


def test_a_draft_is_not_shown(customer, link, issued, desk, now):
    services.draft_credit(issued.pk, by=desk, at=now)
    draft = Bill.objects.get(place=None)
    assert "Credit note" not in page(customer, link)
    assert paper(customer, link, draft.pk).status_code == 404


def test_the_bill_of_another_unit_is_not_there(customer, bench, issued, now):
    other = keys.link_for(bench.job(bench.receive()), now=now)
    assert issued.number not in page(customer, other)
    assert paper(customer, other, issued.pk).status_code == 404


def test_outside_the_euro_there_is_no_code(customer, office, gone, desk, now):
    from tests.bills.conftest import line  # noqa: PLC0415
    from tests.bills.test_einvoice import issue  # noqa: PLC0415

    office.CURRENCY = "GBP"
    bill = issue(gone, desk, now, line())
    text = page(customer, keys.link_for(bill.job, now=now))
    assert "119.00 GBP" in text
    assert "<svg" not in text


def test_a_link_that_is_ended_opens_no_bill(customer, link, issued, people, now):
    keys.revoke(issued.job, by=people.desk, at=now)
    assert paper(customer, link, issued.pk).status_code == 404
