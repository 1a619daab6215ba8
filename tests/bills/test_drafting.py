"""What a bill starts from: the agreement, else work, parts and the inspection fee."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shop.bills import issuing, services
from shop.bills.comparing import compare
from shop.customers.models import Customer, Intake
from shop.jobs.models import JobPart
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.bills.conftest import agree, left, line, with_customer

pytestmark = pytest.mark.django_db


def lines_of(bill):
    return [(row.sort, row.words, row.quantity, row.price) for row in bill.lines.all()]


def test_without_an_agreement_it_is_the_work_by_its_minutes(gone, desk, now):
    bill = services.get_or_create_draft(gone, by=desk, at=now)
    assert lines_of(bill) == [("labour", "Relay cleaned", Decimal(2), Decimal(80))]
    assert bill.totals().gross == Decimal("190.40")
    assert services.get_or_create_draft(gone, by=desk, at=now) == bill


def test_parts_are_billed_once_they_are_fitted(bench, job, office, desk, now):
    for spec in ("A belt", "A bulb"):
        bench.record(job, "part_needed", spec=spec)
    JobPart.objects.filter(spec="A belt").update(fitted=True)
    bill = services.get_or_create_draft(left(job), by=desk, at=now)
    assert [words for _, words, *_ in lines_of(bill)] == ["A belt"]


def test_an_agreement_is_billed_as_it_stands(bench, job, office, desk, now):
    agree(bench, job, line("Repair", price="120"), line("Clean", price="30"), at=now)
    bench.record_late(job, "work_done", work="relay-cleaned", minutes=600)
    bill = services.get_or_create_draft(left(job), by=desk, at=now)
    assert [(words, price) for _, words, _, price in lines_of(bill)] == [
        ("Repair", Decimal(120)),
        ("Clean", Decimal(30)),
    ]
    assert compare(bill).agrees


def test_a_part_that_was_agreed_and_not_fitted_is_left_out_and_said(bench, job, office, desk, now):
    need = bench.record(job, "part_needed", spec="A belt").sequence
    agree(bench, job, line(), line("A belt", price="12", sort="part", need=need), at=now)
    bill = services.get_or_create_draft(left(job), by=desk, at=now)
    assert [words for _, words, *_ in lines_of(bill)] == ["Repair"]
    assert bill.differs_because == "Not fitted: A belt."
    assert compare(bill).differences == [
        "Version 1 was agreed at 133.28 EUR, this comes to 119.00 EUR.",
        "Not billed: A belt.",
    ]


@pytest.mark.parametrize("stage", ["withdrawn", "released"])
def test_a_unit_without_work_pays_the_inspection(job, office, desk, now, stage):
    bill = services.get_or_create_draft(left(job, stage), by=desk, at=now)
    assert lines_of(bill) == [("inspection", "Inspection", Decimal(1), Decimal(35))]


def test_who_declined_pays_the_inspection_and_not_the_work(bench, job, office, desk, now):
    bench.record_late(job, "work_done", work="relay-cleaned", minutes=60)
    bill = services.get_or_create_draft(left(job, "withdrawn"), by=desk, at=now)
    assert [sort for sort, *_ in lines_of(bill)] == ["inspection"]


def test_a_shop_without_a_fee_drafts_no_line(job, office, desk, now):
    office.INSPECTION_FEE = Decimal(0)
    bill = services.get_or_create_draft(left(job, "withdrawn"), by=desk, at=now)
    assert lines_of(bill) == []


def test_the_way_back_of_a_parcel_is_freight(gone, office, desk, now):
    office.RETURN_FREIGHT = Decimal("9.90")
    with_customer(gone, came_by=Intake.PARCEL)
    bill = services.get_or_create_draft(gone, by=desk, at=now)
    assert lines_of(bill)[-1] == ("freight", "Sending it back", Decimal(1), Decimal("9.90"))


def test_freight_beyond_the_agreement_says_why(bench, job, office, desk, now):
    office.RETURN_FREIGHT = Decimal("9.90")
    with_customer(job, came_by=Intake.PARCEL)
    agree(bench, job, line(), at=now)
    bill = services.get_or_create_draft(left(job), by=desk, at=now)
    assert bill.differs_because == "Sending it back costs 9.90 EUR without tax."
    assert not compare(bill).agrees


def test_above_the_limit_without_an_agreement_differs(bench, job, office, desk, now):
    bench.record(job, "limit_agreed", amount="100")
    bill = services.get_or_create_draft(left(job), by=desk, at=now)
    given = {"delivered_on": bill.delivered_on, "terms_days": 14}
    services.save_draft(job, given, [line(price="90")], by=desk)
    assert compare(services.draft_of_job(bill.job)).differences == [
        "The customer asked to be rung above 100.00 EUR, and no estimate is agreed."
    ]


def save(number, desk, *lines, **given):
    bill = services.draft_of_job(services.locked(number))
    given = {"delivered_on": bill.delivered_on, "terms_days": 14} | given
    return services.save_draft(number, given, lines, by=desk, seen=given.pop("seen", None))


def test_a_draft_is_kept_as_typed(gone, desk, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    save(gone, desk, line("A", price="1"), line("B", price="2"), words="Thank you.", terms_days=7)
    bill = services.draft_of_job(services.locked(gone))
    assert [row.words for row in bill.lines.all()] == ["A", "B"]
    assert (bill.words, bill.terms_days) == ("Thank you.", 7)


def test_what_somebody_else_changed_since_is_not_lost(gone, desk, now):
    seen = services.digest(services.get_or_create_draft(gone, by=desk, at=now))
    save(gone, desk, line("By a colleague"), seen=seen)
    with pytest.raises(Refused, match="Somebody changed"):
        save(gone, desk, line("Mine"), seen=seen)


@pytest.mark.parametrize(
    ("field", "value"),
    [("terms_days", -1), ("terms_days", True), ("delivered_on", "soon"), ("words", "a\0b")],
)
def test_what_cannot_be_kept_is_named(gone, desk, now, field, value):
    services.get_or_create_draft(gone, by=desk, at=now)
    with pytest.raises(BadInput, match=field):
        save(gone, desk, **{field: value})


def test_a_draft_is_made_anew_from_the_record(gone, desk, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    save(gone, desk, line("Typed"), words="Kept")
    bill = services.draft_anew(gone, by=desk)
    assert [words for _, words, *_ in lines_of(bill)] == ["Relay cleaned"]
    assert bill.words == "Kept"


def test_a_draft_goes_and_comes_back(gone, desk, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    services.drop_draft(gone, by=desk)
    with pytest.raises(Refused, match="no draft"):
        services.drop_draft(gone, by=desk)
    assert services.get_or_create_draft(gone, by=desk, at=now).lines.count() == 1


@pytest.mark.parametrize("role", ["technician", "viewer"])
def test_the_bench_reads_and_does_not_bill(gone, people, now, role):
    with pytest.raises(Forbidden, match="desk"):
        services.get_or_create_draft(gone, by=people.named(role), at=now)


def test_nothing_to_bill_has_a_reason(bench, job, desk, now):
    with pytest.raises(Refused, match="here still"):
        services.bill_nothing(job, "Warranty", by=desk, at=now)
    left(job)
    with pytest.raises(BadInput, match="reason"):
        services.bill_nothing(job, " ", by=desk, at=now)
    assert services.bill_nothing(job, "Warranty", by=desk, at=now).reason == "Warranty"
    services.get_or_create_draft(job, by=desk, at=now)
    with pytest.raises(Refused, match="has a bill"):
        services.bill_nothing(job, "Warranty", by=desk, at=now)


class TestWithoutTax:
    GIVEN = {"terms_days": 14, "untaxed_as": "reverse", "buyer_tax_number": "fr 40 303 265 045"}

    def saved(self, gone, desk, now, **more):
        draft = services.get_or_create_draft(gone, by=desk, at=now)
        given = {"delivered_on": draft.delivered_on} | self.GIVEN | more
        return services.save_draft(gone, given, [line()], by=desk)

    def test_every_line_goes_to_nothing(self, gone, desk, now):
        draft = self.saved(gone, desk, now)
        assert [one.tax_rate for one in draft.lines.all()] == [0]
        assert draft.buyer_tax_number == "FR40303265045"
        services.draft_anew(gone, by=desk)
        assert {one.tax_rate for one in draft.lines.all()} == {0}

    def test_of_a_mere_exemption_the_lines_stay(self, gone, desk, now):
        draft = self.saved(gone, desk, now, untaxed_as="exempt")
        assert [one.tax_rate for one in draft.lines.all()] == [19]

    @pytest.mark.parametrize(
        ("field", "value", "said"),
        [
            ("buyer_tax_number", "FR40303265046", "a letter or figure of it is wrong"),
            ("buyer_country", "Atlantis", "a country by its two letters"),
            ("untaxed_as", "gone", "it is one of zero, exempt, reverse, export, union, outside"),
            ("untaxed_because", "x" * 501, "500"),
        ],
    )
    def test_what_is_none_is_named(self, gone, desk, now, field, value, said):
        with pytest.raises(BadInput) as wrong:
            self.saved(gone, desk, now, **{field: value})
        assert said in dict(wrong.value.problems)[field]

    @pytest.mark.parametrize(
        ("given", "said"),
        [
            ({"buyer_tax_number": ""}, "the tax number of the buyer is needed"),
            ({"untaxed_as": "exempt"}, "Write down why no tax is charged"),
        ],
    )
    def test_what_is_missing_is_asked_for_before_it_is_issued(self, gone, desk, now, given, said):
        draft = self.saved(gone, desk, now, **given)
        draft.lines.update(tax_rate=0)
        with pytest.raises(Refused, match=said):
            issuing.issue(gone, by=desk, at=now)

    def test_a_code_that_the_list_has_not_is_named(self, gone, office, desk, now):
        office.UNTAXED_BECAUSE, office.UNTAXED_CODE = "Small business", "VATEX-DE-SMALL"
        self.saved(gone, desk, now, untaxed_as="").lines.update(tax_rate=0)
        with pytest.raises(Refused, match="VATEX-DE-SMALL is not in the list"):
            issuing.issue(gone, by=desk, at=now)

    ABROAD = {"untaxed_as": "union", "buyer_name": "Firm", "buyer_country": "FR"}

    @pytest.mark.parametrize(
        ("given", "code"),
        [
            ({"buyer_tax_number": ""}, "buyer-tax-number"),
            # A number of the shop's own country; without letters; of a country outside.
            ({"buyer_tax_number": "DE136695976"}, "buyer-tax-number"),
            ({"buyer_tax_number": "40303265045"}, "buyer-tax-number"),
            ({"buyer_tax_number": "CHE107787577"}, "buyer-tax-number"),
            ({"buyer_country": "DE"}, "delivery-country"),
            ({"buyer_country": "CH"}, "delivery-country"),
            ({"buyer_country": "GB"}, "delivery-country"),
            ({"buyer_country": ""}, "delivery-country"),
        ],
    )
    def test_goods_to_another_country_lack(self, gone, desk, now, given, code):
        """DE136695976 is the worked example of the check on German numbers in stdnum."""
        self.saved(gone, desk, now, **self.ABROAD | given)
        with pytest.raises(Refused) as refused:
            issuing.issue(gone, by=desk, at=now)
        assert refused.value.details["codes"] == [code]

    def test_goods_to_another_country_need_a_vat_number_of_the_shop(self, gone, office, desk, now):
        office.TAX_NUMBER = "12/345/67890"
        self.saved(gone, desk, now, **self.ABROAD)
        with pytest.raises(Refused, match="need a VAT number of the shop"):
            issuing.issue(gone, by=desk, at=now)

    def test_the_country_is_that_of_the_customer_when_nobody_else_is_billed(self, gone, desk, now):
        self.saved(gone, desk, now, untaxed_as="union")
        Customer.objects.update(country="FR")
        assert issuing.issue(gone, by=desk, at=now).buyer_country == "FR"
