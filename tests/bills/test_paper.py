"""The paper of a bill: what it says, the electronic invoice inside, and the code to pay it."""

from __future__ import annotations

import io
from datetime import timedelta
from decimal import Decimal

import facturx
import pypdf
import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from shop.bills import einvoice, issuing, paper, payment_code, payments, services
from shop.bills.models import Bill
from shop.lib.refusals import BadInput, Refused
from tests.bills.conftest import line

pytestmark = pytest.mark.django_db


def read(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf))


def text_of(pdf):
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]
    return " ".join(" ".join(pages).split())


def codes_on(pdf):
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=3).to_pil()
    return [found.text for found in zxingcpp.read_barcodes(page)]


def test_it_says_who_what_and_how_much(issued):
    said = text_of(paper.pdf_of(issued, "a4"))
    for words in (
        f"Invoice {issued.number}",
        "Tin Lane Audio",
        "DE123456789",
        "Mirela Kovač",
        "7 Brass Row",
        "Relay cleaned",
        "VAT 19 % on 160.00 EUR",
        "30.40 EUR",
        "190.40 EUR",
        "DE89 3704 0044 0532 0130 00",
    ):
        assert words in said


def test_the_invoice_lies_inside(issued):
    pdf = paper.pdf_of(issued, "a4")
    name, xml = facturx.get_xml_from_pdf(pdf, check_xsd=True, check_schematron=False)
    assert name == "factur-x.xml"
    assert xml == einvoice.xml_of(issued)


def test_it_is_an_archival_file_that_says_so(issued):
    """ISO 19005-3 and Factur-X 1.0: what the file claims; no validator is at hand to prove it."""
    file = read(paper.pdf_of(issued, "a4"))
    root = file.trailer["/Root"]
    said = root["/Metadata"].get_object().get_data().decode()
    for claim in (
        "<pdfaid:part>3</pdfaid:part>",
        "<pdfaid:conformance>B</pdfaid:conformance>",
        "<fx:ConformanceLevel>EN 16931</fx:ConformanceLevel>",
        "<fx:DocumentFileName>factur-x.xml</fx:DocumentFileName>",
    ):
        assert claim in said
    assert root["/OutputIntents"][0].get_object()["/S"] == "/GTS_PDFA1"
    attached = root["/AF"].get_object()[0].get_object()
    assert attached["/AFRelationship"] == "/Alternative"
    assert file.trailer["/ID"]


def test_a_bank_reads_the_code(issued):
    [said] = codes_on(paper.pdf_of(issued, "a4"))
    assert said.splitlines() == [
        "BCD",
        "002",
        "1",
        "SCT",
        "",
        "Tin Lane Audio",
        "DE89370400440532013000",
        "EUR190.4",
        "",
        "",
        issued.number,
    ]


def test_a_deposit_is_taken_off_paper_and_code(gone, desk, now):
    draft = services.get_or_create_draft(gone, by=desk, at=now)
    payments.pay(draft.pk, Decimal(50), draft.delivered_on, "cash", by=desk, at=now)
    pdf = paper.pdf_of(issuing.issue(gone, by=desk, at=now), "a4")
    assert "EUR140.4" in codes_on(pdf)[0]
    assert "Paid already" in text_of(pdf)


def test_what_is_paid_later_leaves_the_paper(issued, desk, now):
    before = text_of(paper.pdf_of(issued, "a4"))
    payments.pay(issued.pk, issued.gross, issued.issued_on, "cash", by=desk, at=now)
    assert text_of(paper.pdf_of(Bill.objects.get(pk=issued.pk), "a4")) == before


def test_the_bank_stands_under_the_account(gone, office, desk, now):
    office.BIC = "COBADEFFXXX"
    services.get_or_create_draft(gone, by=desk, at=now)
    issued = issuing.issue(gone, by=desk, at=now)
    office.BIC = "MARKDEF1100"
    assert "BIC COBADEFFXXX" in text_of(paper.pdf_of(issued, "a4"))


@pytest.mark.parametrize(("name", "value"), [("IBAN", ""), ("CURRENCY", "GBP")])
def test_without_euros_or_an_account_there_is_no_code(gone, office, desk, now, name, value):
    setattr(office, name, value)
    services.get_or_create_draft(gone, by=desk, at=now)
    assert codes_on(paper.pdf_of(issuing.issue(gone, by=desk, at=now), "a4")) == []


def test_a_credit_note_names_its_bill_and_asks_for_nothing(issued, desk, now):
    services.draft_credit(issued.pk, by=desk, at=now)
    Bill.objects.filter(place=None).update(words="Billed twice.")
    pdf = paper.pdf_of(issuing.issue(issued.job_id, by=desk, at=now), "us-letter")
    said = text_of(pdf)
    assert f"For invoice {issued.number}" in said
    assert "Billed twice." in said
    assert "IBAN" not in said
    assert codes_on(pdf) == []


def test_what_differs_and_what_is_untaxed_is_said(gone, office, desk, now):
    office.UNTAXED_BECAUSE = "Small business, no tax is charged."
    bill = services.get_or_create_draft(gone, by=desk, at=now)
    given = {"delivered_on": bill.delivered_on - timedelta(days=1), "terms_days": 0}
    given["differs_because"] = "You asked for a new plug."
    services.save_draft(gone, given, [line(tax_rate=Decimal(0))], by=desk)
    said = text_of(paper.pdf_of(issuing.issue(gone, by=desk, at=now), "a4"))
    assert "Small business, no tax is charged." in said
    assert "Not the sum that was agreed to: You asked for a new plug." in said


def test_many_lines_go_over_pages(gone, desk, now):
    bill = services.get_or_create_draft(gone, by=desk, at=now)
    given = {"delivered_on": bill.delivered_on, "terms_days": 14}
    lines = [line(f"Line {n} of work", price="10") for n in range(60)]
    services.save_draft(gone, given, lines, by=desk)
    pdf = paper.pdf_of(issuing.issue(gone, by=desk, at=now), "a4")
    assert len(read(pdf).pages) > 1
    assert "Line 59 of work" in text_of(pdf)


def test_a_draft_has_no_paper_and_sizes_are_known(gone, issued):
    with pytest.raises(Refused, match="no paper"):
        paper.pdf_of(Bill(job=issued.job), "a4")
    with pytest.raises(BadInput, match="size"):
        paper.pdf_of(issued, "a9")


def test_the_published_example_of_the_code():
    """EPC069-12, the example of a donation; value from memory, its version and BIC left out."""
    drawn = io.BytesIO()
    made = payment_code.code("Red Cross of Belgium", "BE72000000001616", Decimal(1), "Urgency fund")
    made.save(drawn, kind="png", scale=6)
    assert made.error == "M"
    [said] = zxingcpp.read_barcodes(Image.open(drawn))
    assert said.text == (
        "BCD\n002\n1\nSCT\n\nRed Cross of Belgium\nBE72000000001616\nEUR1\n\n\nUrgency fund"
    )
