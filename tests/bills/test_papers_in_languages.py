"""Bills, credit notes and reminders in the language of the customer; the electronic invoice as before."""

from __future__ import annotations

import io
import re
from decimal import Decimal

import facturx
import pypdf
import pytest
from django.utils import translation

from shop.bills import einvoice, issuing, mailing, paper, reminder_paper, services
from shop.bills.models import Bill, BillLine
from shop.customers.models import Customer, Intake
from shop.lib import languages, money
from shop.preferences.languages import NAMES
from tests.bills.conftest import line
from tests.bills.test_paper import text_of
from tests.helpers_languages import bare, spoken, times

pytestmark = pytest.mark.django_db

FOREIGN = [language for language in NAMES if language != "en"]


def bill_in(language, gone, desk, now):
    Customer.objects.update(language=language)
    services.get_or_create_draft(gone, by=desk, at=now)
    return issuing.issue(gone, by=desk, at=now)


@pytest.mark.parametrize("language", FOREIGN)
def test_a_bill_in_each_language(gone, desk, now, monkeypatch, language):
    spoken(monkeypatch, language)
    bill = bill_in(language, gone, desk, now)
    pdf = paper.pdf_of(bill, "a4")
    with translation.override(language):
        day, total = languages.day(bill.due_on), money.formatted(Decimal("190.40"), "EUR")
    for words in (f"«Invoice» {bill.number}", "«What for»", "«To pay by»", day, total):
        assert times(words, text_of(pdf)), words
    assert pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/Lang"] == language
    assert paper.file_name(bill) == f"invoice-{bill.number}.pdf"


def test_a_bill_stays_in_the_language_it_was_issued_in(gone, desk, now, monkeypatch):
    spoken(monkeypatch, "fr")
    bill = bill_in("fr", gone, desk, now)
    Customer.objects.update(language="en")
    assert times("«What for»", text_of(paper.pdf_of(bill, "a4")))
    assert Bill.objects.get(pk=bill.pk).language == "fr"
    assert not times("«What for»", text_of(paper.pdf_of(bill_of_before(bill), "a4")))


def bill_of_before(bill):
    """As one that was issued before there were languages."""
    bill.language = ""
    return bill


def test_the_electronic_invoice_says_the_same_in_every_language(issued, monkeypatch):
    before = einvoice.xml_of(issued)
    spoken(monkeypatch, "de")
    with translation.override("de"):
        assert einvoice.xml_of(issued) == before
    issued.language = "de"
    name, xml = facturx.get_xml_from_pdf(paper.pdf_of(issued, "a4"), check_xsd=True)
    assert (name, xml) == ("factur-x.xml", before)


def test_nothing_on_a_bill_stays_untranslated(gone, desk, now, office, monkeypatch):
    # Its days have no letters that a word of English has.
    spoken(monkeypatch, "ja")
    office.TELEPHONE = office.EMAIL = ""
    office.SHOP_NAME, office.POSTAL_ADDRESS, office.CITY = "0002", "0003", "0004"
    bill = bill_in("ja", gone, desk, now)
    left = bare(text_of(paper.pdf_of(bill, "a4")))
    for known in (str(bill.job.unit), bill.job.unit.serial, "Mirela Kovač", "7 Brass Row"):
        left = left.replace(known, "")
    left = re.sub(r"Lower Tin|Relay cleaned|IBAN|EUR|VAT|DE[\d ]+", "", left)
    assert not re.findall(r"[A-Za-z]{3,}", left)


def test_drafted_lines_are_in_the_language_of_the_customer(gone, desk, now, monkeypatch, office):
    spoken(monkeypatch, "es")
    Customer.objects.update(language="es")
    office.RETURN_FREIGHT = Decimal("9.90")
    Intake.objects.update(came_by=Intake.PARCEL)
    services.get_or_create_draft(gone, by=desk, at=now)
    assert BillLine.objects.get(sort=BillLine.FREIGHT).words == "«Sending it back»"


def test_why_no_tax_is_charged_is_said_in_that_language_and_kept(gone, desk, now, monkeypatch):
    spoken(monkeypatch, "de")
    Customer.objects.update(language="de")
    draft = services.get_or_create_draft(gone, by=desk, at=now)
    given = {
        "delivered_on": draft.delivered_on,
        "terms_days": 14,
        "untaxed_as": Bill.REVERSE,
        "buyer_tax_number": "FR40303265045",
    }
    services.save_draft(gone, given, [line()], by=desk)
    bill = issuing.issue(gone, by=desk, at=now)
    assert (bill.untaxed_because, bill.untaxed_code) == ("«Reverse charge»", "VATEX-EU-AE")


def test_a_reminder_is_a_letter_in_that_language(issued, desk, now, monkeypatch):
    spoken(monkeypatch, "nl")
    Customer.objects.update(contact_by="letter", language="nl")
    late = now + (issued.due_on - now.date()) + (issued.due_on - now.date())
    letter = text_of(reminder_paper.pdf_of(mailing.remind(issued.pk, by=desk, at=late), "a4"))
    assert "«Payment reminder»" in letter
    assert "«Was due on»" in letter
