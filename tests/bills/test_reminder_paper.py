"""A reminder of a payment as a letter: for customers who are told by hand."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from shop.bills import issuing, mailing, payments, reminder_paper, services
from shop.bills.models import Bill
from shop.customers.models import Customer
from shop.lib.refusals import BadInput, Refused
from shop.messages.models import Message
from tests.bills.conftest import line
from tests.bills.test_paper import codes_on, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def late(issued, now):
    """The moment at which the bill has been due for a day."""
    return now + timedelta(days=(issued.due_on - now.date()).days + 1)


@pytest.fixture
def reminder(issued, desk, late):
    Customer.objects.update(contact_by="letter")
    return mailing.remind(issued.pk, by=desk, at=late)


def test_it_says_which_bill_how_much_and_how_to_pay(issued, reminder):
    pdf = reminder_paper.pdf_of(reminder, "a4")
    said = text_of(pdf)
    for words in (
        "Payment reminder",
        "Tin Lane Audio",
        "Mirela Kovač",
        "7 Brass Row",
        f"Invoice {issued.number}",
        "190.40 EUR was due on",
        "perhaps it slipped by",
        "DE89 3704 0044 0532 0130 00",
    ):
        assert words in said
    [code] = codes_on(pdf)
    assert "EUR190.4" in code
    assert pdf == reminder_paper.pdf_of(reminder, "a4")


def test_what_was_paid_before_it_was_written_is_taken_off(issued, desk, late):
    before = late - timedelta(hours=1)
    payments.pay(issued.pk, Decimal(100), before.date(), "cash", by=desk, at=before)
    reminder = mailing.remind(issued.pk, by=desk, at=late)
    said = text_of(reminder_paper.pdf_of(reminder, "us-letter"))
    assert "90.40 EUR" in said
    assert "190.40 EUR" not in said


def test_what_was_paid_since_makes_it_out_of_date(issued, reminder, desk, late):
    payments.pay(
        issued.pk, Decimal(100), late.date(), "cash", by=desk, at=late + timedelta(hours=1)
    )
    with pytest.raises(Refused, match="its sum is out of date"):
        reminder_paper.pdf_of(reminder, "a4")


def test_what_was_credited_since_does_too(issued, reminder, desk, late):
    services.draft_credit(issued.pk, by=desk, at=late)
    draft = Bill.objects.get(place=None)
    given = {"delivered_on": draft.delivered_on, "words": "Billed twice.", "terms_days": 14}
    services.save_draft(issued.job_id, given, [line(price="10")], by=desk)
    issuing.issue(issued.job_id, by=desk, at=late + timedelta(hours=1))
    with pytest.raises(Refused, match="its sum is out of date"):
        reminder_paper.pdf_of(reminder, "a4")


@pytest.mark.parametrize("change", [{"way": Message.EMAIL}, {"text": ""}])
def test_what_goes_by_mail_or_has_no_words_is_no_letter(reminder, change):
    for name, value in change.items():
        setattr(reminder, name, value)
    with pytest.raises(Refused, match="Only a reminder that a person passes on"):
        reminder_paper.pdf_of(reminder, "a4")
    assert reminder.letter == ""


def test_an_unknown_size_is_named(reminder):
    with pytest.raises(BadInput, match="size is one of a4, us-letter"):
        reminder_paper.pdf_of(reminder, "a5")


def test_it_is_offered_where_it_waits_until_it_is_told(client, desk, reminder, late):
    client.force_login(desk)
    job = reminder.job_id
    letter = reverse("reminder-paper", args=[job, reminder.pk, "a4"])
    pages = [
        reverse("outbox"),
        reverse("customer-side", args=[job]),
        reverse("job-bills", args=[job]),
    ]
    for page in pages:
        assert f'href="{letter}"' in client.get(page).content.decode()
    answer = client.get(letter)
    assert answer["Content-Type"] == "application/pdf"
    assert f"reminder-{Bill.objects.get().number}.pdf" in answer["Content-Disposition"]
    client.post(reverse("message-done", args=[reminder.pk]))
    for page in pages:
        assert letter not in client.get(page).content.decode()


def test_other_messages_have_no_letter(client, desk, issued, now):
    message = mailing.send(issued.pk, by=desk, at=now)
    assert message.letter == ""
    client.force_login(desk)
    other = reverse("reminder-paper", args=[issued.job_id, message.pk, "a4"])
    assert client.get(other).status_code == 404
