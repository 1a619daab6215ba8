"""Pages of bills: draft, issue, pay, credit; lists, ageing, tables; what home says is left."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.bills import services
from shop.bills.models import Bill, Payment
from shop.jobs.models import Job
from shop.jobs.next_act import afterwards, next_act
from tests.bills.conftest import left

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(client, people):
    client.force_login(people.desk)
    return client


def page(browser, job):
    return browser.get(reverse("job-bills", args=[job])).content.decode()


def draft_body(job, *lines, **given):
    """What the form sends: the lines with these fields, the rest as it is stored."""
    bill = services.draft_of_job(services.locked(job))
    body = {"delivered_on": bill.delivered_on, "terms_days": 14, "seen": services.digest(bill)}
    body |= {"line-TOTAL_FORMS": len(lines), "line-INITIAL_FORMS": 0, "sure": "yes"} | given
    plain = {"sort": "labour", "quantity": "1", "price": "100", "tax_rate": "19"}
    for place, line in enumerate(lines):
        body |= {f"line-{place}-{name}": value for name, value in (plain | line).items()}
    return body


def test_from_the_unit_that_left_to_the_paid_bill(browser, gone):
    assert "Draft the bill" in page(browser, gone)
    browser.post(reverse("bill-start", args=[gone]))
    text = page(browser, gone)
    assert "Relay cleaned" in text
    assert "your own adviser comes first" in text
    body = draft_body(gone, {"words": "Repair"}, {"words": "Belt", "price": "7,50"})
    change = reverse("bill-change", args=[gone])
    browser.post(change, body | {"act": "keep"})
    body = draft_body(gone, {"words": "Repair"}, {"words": "Belt", "price": "7.50"})
    assert browser.post(change, body | {"act": "issue"}).status_code == 302
    bill = Bill.objects.get()
    assert bill.issued
    assert f"{bill.number}: open" in page(browser, gone)
    sent = {f"pay{bill.pk}-{name}": value for name, value in pay_body("127.93").items()}
    browser.post(reverse("bill-pay", args=[gone, bill.pk]), sent)
    assert f"{bill.number}: paid" in page(browser, gone)


def test_issuing_is_asked_once(browser, gone):
    browser.post(reverse("bill-start", args=[gone]))
    change = reverse("bill-change", args=[gone])
    body = draft_body(gone, {"words": "Repair"}, act="issue", sure="")
    asked = browser.post(change, body).content.decode()
    assert "Issue the bill to Mirela Kovač, 119.00 EUR?" in asked
    assert not Bill.objects.get().issued
    sent = dict(re.findall(r'name="([\w-]+)"\s+value="([^"]*)"', asked))
    assert browser.post(change, sent | {"sure": "yes"}).status_code == 302
    assert Bill.objects.get().issued


def pay_body(amount):
    return {"amount": amount, "paid_on": timezone.localdate(), "way": "cash", "note": ""}


def test_a_pdf_has_its_name(browser, issued):
    answer = browser.get(reverse("bill-paper", args=[issued.job_id, issued.pk, "a4"]))
    assert answer["Content-Type"] == "application/pdf"
    assert f"invoice-{issued.number}.pdf" in answer["Content-Disposition"]


def test_missing_settings_are_asked_for_with_a_way_there(client, people, gone, office):
    office.TAX_NUMBER = ""
    client.force_login(people.owner)
    text = page(client, gone)
    assert "Tax number of the shop" in text
    assert f'href="{reverse("settings")}"' in text
    client.force_login(people.desk)
    assert "The owner fills them in" in page(client, gone)


def test_what_was_typed_wrong_comes_back_as_typed(browser, gone):
    browser.post(reverse("bill-start", args=[gone]))
    body = draft_body(gone, {"words": "Kept words", "price": "-5"}, act="issue")
    answer = browser.post(reverse("bill-change", args=[gone]), body)
    assert answer.status_code == 422
    assert "Kept words" in answer.content.decode()
    assert not Bill.objects.get().issued


def test_a_stale_draft_is_not_overwritten(browser, gone, desk):
    browser.post(reverse("bill-start", args=[gone]))
    body = draft_body(gone, {"words": "Mine"}, act="keep")
    services.save_draft(gone, {"delivered_on": timezone.localdate(), "terms_days": 1}, [], by=desk)
    answer = browser.post(reverse("bill-change", args=[gone]), body)
    assert answer.status_code == 409
    assert "Mine" in answer.content.decode()


def test_a_payment_that_is_none_is_said_and_not_noted(browser, issued):
    sent = {f"pay{issued.pk}-{name}": value for name, value in pay_body("lots").items()}
    sent["bill"] = issued.pk
    answer = browser.post(reverse("bill-pay", args=[issued.job_id, issued.pk]), sent)
    assert answer.status_code == 422
    assert "lots" in answer.content.decode()
    assert not Payment.objects.exists()


def test_a_bill_of_another_job_is_not_there(browser, bench, issued):
    other = bench.receive()
    for name, more in (("bill-pay", []), ("bill-credit", [])):
        assert browser.post(reverse(name, args=[other, issued.pk, *more])).status_code == 404
    assert browser.get(reverse("bill-paper", args=[other, issued.pk, "a4"])).status_code == 404


def test_a_credit_note_from_the_page(browser, issued):
    browser.post(reverse("bill-credit", args=[issued.job_id, issued.pk]))
    text = page(browser, issued.job_id)
    assert f"Credit note for {issued.number}" in text
    body = draft_body(issued.job_id, {"words": "Back"}, words="Goodwill", act="issue")
    browser.post(reverse("bill-change", args=[issued.job_id]), body)
    assert "part paid" not in page(browser, issued.job_id)
    assert "71.40" in page(browser, issued.job_id)


def test_nothing_is_billed_for_a_reason(browser, gone):
    browser.post(reverse("bill-nothing", args=[gone]), {"reason": "Warranty"})
    assert "Nothing is billed: Warranty" in page(browser, gone)


def test_the_list_shows_what_is_not_billed_and_what_is(browser, bench, issued):
    number = left(bench.receive(make="Unbilled Works"))
    text = browser.get(reverse("bills")).content.decode()
    assert "Unbilled Works" in text
    assert issued.number in text
    assert reverse("job-bills", args=[number]) in text


def test_what_is_owed_by_age(browser, issued, office, monkeypatch):
    today = timezone.localdate() + timedelta(days=60)
    monkeypatch.setattr("shop.bills.views.timezone.localdate", lambda *_: today)
    text = browser.get(reverse("owed")).content.decode()
    assert "due for 46 d" in text
    assert re.search(r"<dt>31 to 60</dt>\s*<dd>190.40 EUR</dd>", text)


def rows_of(browser, name):
    year = timezone.localdate().year
    days = {"first": f"{year}-01-01", "last": f"{year}-12-31"}
    answer = browser.get(reverse(name), days)
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_accountant_gets_exact_rows_without_formulas(browser, gone, desk):
    browser.post(reverse("bill-start", args=[gone]))
    lines = [{"words": "Repair"}, {"words": "Book", "tax_rate": "7", "price": "10"}]
    body = draft_body(gone, *lines, buyer_name="=cmd()", act="issue")
    browser.post(reverse("bill-change", args=[gone]), body)
    bill = Bill.objects.get()
    sent = {f"pay{bill.pk}-{name}": value for name, value in pay_body("5").items()}
    browser.post(reverse("bill-pay", args=[gone, bill.pk]), sent)
    browser.post(reverse("bill-credit", args=[gone, bill.pk]))
    body = draft_body(gone, {"words": "Back", "price": "1"}, words="Why", act="issue")
    browser.post(reverse("bill-change", args=[gone]), body)
    rows = rows_of(browser, "bills-table")
    assert [(row["kind"], row["tax_rate"], row["net"], row["tax"]) for row in rows] == [
        ("bill", "7.00", "10.00", "0.70"),
        ("bill", "19.00", "100.00", "19.00"),
        ("credit note", "19.00", "-1.00", "-0.19"),
    ]
    assert rows[0]["buyer"] == "'=cmd()"
    assert rows[2]["corrects"] == bill.number
    [payment] = rows_of(browser, "payments-table")
    assert (payment["number"], payment["amount"], payment["way"]) == (bill.number, "5.000", "cash")


def test_days_that_are_none_are_said(browser):
    answer = browser.get(reverse("bills-table"), {"first": "soon"})
    assert answer.status_code == 422
    assert "first is no day" in answer.content.decode()


class TestHome:
    def test_a_unit_that_left_is_billed_then_paid_then_nothing(self, gone, browser, now):
        assert next_act(Job.objects.get(pk=gone), now).more == {"page": "bill"}
        assert afterwards.of_all(40) == {gone: "Write the bill"}
        browser.post(reverse("bill-start", args=[gone]))
        body = draft_body(gone, {"words": "Repair"}, act="issue", terms_days=0)
        browser.post(reverse("bill-change", args=[gone]), body)
        assert next_act(Job.objects.get(pk=gone), now).act == "none"
        later = now + timedelta(days=1)
        assert next_act(Job.objects.get(pk=gone), later).more == {"page": "payment"}
        assert next_act(Job.objects.get(pk=gone), later).why == (
            f"Bill {Bill.objects.get().number} is overdue."
        )

    def test_the_past_of_a_shop_that_begins_is_not_asked_for(self, gone, now):
        # A day more than it takes: in late summer the shop may be an hour ahead.
        Job.objects.filter(pk=gone).update(closed_at=now - timedelta(days=92))
        assert next_act(Job.objects.get(pk=gone), now).act == "none"
        assert afterwards.of_all(40) == {}

    def test_the_act_leads_to_the_page(self, client, people, gone):
        client.force_login(people.owner)
        text = client.get(reverse("job", args=[gone])).content.decode()
        assert reverse("job-bills", args=[gone]) in text
