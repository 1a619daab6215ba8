"""A bill goes out with its paper, or stands for a person; a payment is asked for once."""

from __future__ import annotations

import io
from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from pypdf import PdfReader

from shop.bills import issuing, mailing, services
from shop.bills.models import Bill
from shop.customers.models import Customer, Intake
from shop.jobs import queries
from shop.jobs.models import Job
from shop.lib.refusals import Forbidden, Refused
from shop.messages import sending
from shop.messages.models import Message
from tests.translated import say

pytestmark = pytest.mark.django_db


@pytest.fixture
def post(settings):
    """The shop sends e-mails, and its customer welcomes them."""
    settings.MAIL_ON = True
    return settings


@pytest.fixture
def reached(issued, post, now):
    Customer.objects.update(email="mirela@example.org", agreed_to_mail_at=now)
    return issued


def overdue(bill, now):
    """A moment when the day of a bill has passed."""
    return now + timedelta(days=bill.terms_days + 1)


def test_it_goes_out_by_mail_with_its_paper(reached, desk, now):
    message = mailing.send(reached.pk, by=desk, at=now)
    assert (message.way, message.about) == (Message.EMAIL, "bill")
    assert f"Invoice {reached.number}" in message.subject
    assert "190.40 EUR is to be paid by" in message.text
    sending.deliver(now=message.send_after)
    [sent] = mail.outbox
    [(name, content, kind)] = sent.attachments
    assert (name, kind) == (f"invoice-{reached.number}.pdf", "application/pdf")
    assert "factur-x.xml" in PdfReader(io.BytesIO(content)).attachments
    row = queries.rows_of(Job.objects.get(pk=reached.job_id))[-1]
    assert (row.event_type, row.data["about"], row.data["way"]) == ("owner_told", "bill", "e-mail")


def test_what_is_owed_is_said_in_the_language_of_the_customer(reached, desk, now, monkeypatch):
    say(monkeypatch, "de", {"{amount} is to be paid by {day}.": "{amount} bis {day}."})
    Customer.objects.update(language="de")
    message = mailing.send(reached.pk, by=desk, at=now)
    due = reached.due_on
    assert f"190,40\N{NO-BREAK SPACE}€ bis {due.day}. " in message.text


def test_other_messages_carry_nothing(reached, now):
    Message.objects.create(
        job=reached.job, customer=Customer.objects.get(), about="ready", key="ready",
        subject="x", text="y", written_at=now, send_after=now,
    )  # fmt: skip
    sending.deliver(now=now)
    assert mail.outbox[0].attachments == []


def test_without_mail_it_stands_for_a_person(issued, desk, now):
    Customer.objects.update(phone="0555 0199")
    message = mailing.send(issued.pk, by=desk, at=now)
    assert message.way == Message.HAND
    assert sending.deliver(now=message.send_after) == 0


@pytest.mark.parametrize(
    "wish", [{"contact_by": "telephone"}, {"agreed_to_mail_at": None}, {"email": ""}]
)
def test_who_wants_no_mail_is_told_by_a_person(reached, desk, now, wish):
    Customer.objects.update(**wish)
    assert mailing.send(reached.pk, by=desk, at=now).way == Message.HAND


def test_twice_only_once_the_first_is_out(reached, desk, now):
    first = mailing.send(reached.pk, by=desk, at=now)
    with pytest.raises(Refused, match="in line already"):
        mailing.send(reached.pk, by=desk, at=now)
    sending.deliver(now=first.send_after)
    second = mailing.send(reached.pk, by=desk, at=now)
    assert [first.key, second.key] == [f"bill/{reached.number}", f"bill/{reached.number}/2"]
    sending.deliver(now=second.send_after)
    assert len(mail.outbox) == 2


def test_what_is_for_somebody_else_is_not_sent_to_the_customer(gone, desk, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    Bill.objects.update(buyer_name="Insurance of the Lane")
    bill = issuing.issue(gone, by=desk, at=now)
    with pytest.raises(Refused, match="It is for Insurance of the Lane"):
        mailing.send(bill.pk, by=desk, at=now)


def test_a_draft_and_a_stranger_send_nothing(gone, desk, now, people, issued):
    with pytest.raises(Forbidden):
        mailing.send(issued.pk, by=people.technician, at=now)
    services.draft_credit(issued.pk, by=desk, at=now)
    with pytest.raises(Refused, match="A draft is not sent"):
        mailing.send(Bill.objects.get(place=None).pk, by=desk, at=now)


def test_a_job_without_a_customer_is_said(issued, desk, now):
    Intake.objects.update(customer=None)
    with pytest.raises(Refused):
        mailing.send(issued.pk, by=desk, at=now)


class TestReminders:
    def test_one_is_asked_for_by_a_person(self, reached, desk, now):
        with pytest.raises(Refused, match="Nothing of it is overdue"):
            mailing.remind(reached.pk, by=desk, at=now)
        message = mailing.remind(reached.pk, by=desk, at=overdue(reached, now))
        assert "190.40 EUR was due on" in message.text

    def test_nothing_goes_by_itself_unless_it_is_set(self, reached, now):
        assert mailing.remind_by_itself(now=overdue(reached, now) + timedelta(days=30)) == 0
        assert not Message.objects.exists()

    def test_set_it_goes_once(self, reached, now, settings):
        settings.REMINDER_DAYS = 10
        early = overdue(reached, now) + timedelta(days=8)
        assert mailing.remind_by_itself(now=early) == 0
        late = early + timedelta(days=1)
        assert mailing.remind_by_itself(now=late) == 1
        assert mailing.remind_by_itself(now=late + timedelta(days=1)) == 0
        assert Message.objects.get().about == "payment"

    def test_what_is_long_past_is_no_news(self, reached, now, settings):
        settings.REMINDER_DAYS = 10
        assert mailing.remind_by_itself(now=overdue(reached, now) + timedelta(days=60)) == 0

    def test_who_has_paid_is_left_alone(self, reached, desk, now, settings):
        from shop.bills import payments  # noqa: PLC0415

        settings.REMINDER_DAYS = 10
        payments.pay(reached.pk, reached.gross, reached.issued_on, "cash", by=desk, at=now)
        assert mailing.remind_by_itself(now=overdue(reached, now) + timedelta(days=10)) == 0


class TestPages:
    def test_the_button_says_which_way_it_goes(self, client, people, reached):
        client.force_login(people.desk)
        page = reverse("job-bills", args=[reached.job_id])
        assert "Send it to the customer" in client.get(page).content.decode()
        send = reverse("bill-send", args=[reached.job_id, reached.pk])
        assert "goes out by e-mail" in client.post(send, follow=True).content.decode()
        again = client.post(send)
        assert again.status_code == 409
        assert "in line already" in again.content.decode()

    def test_the_xml_by_itself(self, client, people, reached):
        client.force_login(people.viewer)
        answer = client.get(reverse("bill-xml", args=[reached.job_id, reached.pk]))
        assert answer["Content-Type"] == "application/xml"
        assert b"CrossIndustryInvoice" in answer.content
        other = client.get(reverse("bill-xml", args=[reached.job_id + 1, reached.pk]))
        assert other.status_code == 404
