"""Estimates from draft to answer, and what is held when work goes beyond them."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from shop.estimates import services as estimate_services
from shop.estimates.models import Estimate, EstimateLine
from shop.jobs import commands, queries
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.parts.models import Order, OrderLine
from tests.factories import OfferFactory, PartFactory, SupplierFactory
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def line(words="Repair", quantity="1", price="100", **more):
    return {
        "sort": EstimateLine.LABOUR,
        "words": words,
        "quantity": Decimal(quantity),
        "price": Decimal(price),
        "tax_rate": Decimal(0),
        "need": None,
        "work": "",
    } | more


def sent(bench, number, *lines, at):
    """A version with these lines, sent."""
    estimate_services.get_or_create_draft(number, by=bench.by, at=at)
    if lines:
        estimate_services.save_draft(number, "", lines, by=bench.by)
    return estimate_services.send_draft(number, by=bench.by, at=at)


def agreed(bench, number, *lines, at):
    version = sent(bench, number, *lines, at=at).version
    bench.record(number, "estimate_answered", answer="yes", version=version, way="telephone")
    return version


def beyond(bench, number):
    return queries.record_of(bench.job(number)).beyond


def test_a_draft_starts_from_needs_prices_and_work(bench, job, now, settings):
    settings.HOURLY_RATE, settings.PARTS_MARKUP = Decimal(72), Decimal(25)
    offer = OfferFactory(part=PartFactory(spec="Relay 24 V"), breaks={1: "4.00", 5: "3.00"})
    bench.record(job, "part_needed", spec="Relay 24 V", quantity=5, part=offer.part.pk)
    bench.record(job, "part_needed", spec="A knob", required=False)
    bench.record_late(job, "work_done", work="relay-cleaned", minutes=20)
    bench.record_late(job, "work_done", work="relay-cleaned", minutes=25)
    made = estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    lines = [(row.sort, row.words, row.quantity, row.price) for row in made.lines.all()]
    assert lines == [
        ("labour", "Relay cleaned", Decimal("0.75"), Decimal(72)),
        ("part", "Relay 24 V", Decimal(5), Decimal("3.75")),
    ]


def test_a_draft_is_made_once(bench, job, now):
    first = estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    assert estimate_services.get_or_create_draft(job, by=bench.by, at=now) == first
    assert first.version == 1


def test_what_nobody_sells_is_drafted_at_nought_and_cannot_be_sent_alone(bench, job, now):
    bench.record(job, "part_needed", spec="A dial glass")
    estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    estimate_services.save_draft(job, "", [line("A dial glass", price="0")], by=bench.by)
    with pytest.raises(Refused, match="comes to nothing"):
        estimate_services.send_draft(job, by=bench.by, at=now)


def test_sending_writes_what_is_covered_into_the_ledger(bench, job, now):
    need = bench.record(job, "part_needed", spec="A belt").sequence
    lines = [line(), line("A belt", price="12", need=need), line("Clean", work="controls-cleaned")]
    sent(bench, job, *lines, at=now)
    row = queries.record_of(bench.job(job)).of_type("estimate_sent")[-1]
    assert row.data == {
        "note": "",
        "version": 1,
        "total": "212.00",
        "needs": [need],
        "work": ["controls-cleaned"],
    }
    assert bench.job(job).waiting_on == "owner"


def test_a_sent_version_is_not_changed(bench, job, now):
    sent(bench, job, line(), at=now)
    with pytest.raises(Refused, match="has been sent since"):
        estimate_services.save_draft(job, "", [line(price="1")], by=bench.by)
    with pytest.raises(Refused, match="no draft"):
        estimate_services.send_draft(job, by=bench.by, at=now)


def test_the_next_version_starts_from_the_last_and_adds_what_came_up(bench, job, now):
    agreed(bench, job, line("Repair"), at=now)
    need = bench.record(job, "part_needed", spec="A belt").sequence
    second = estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    assert second.version == 2
    assert [(row.words, row.need) for row in second.lines.all()] == [
        ("Repair", None),
        ("A belt", need),
    ]


@pytest.mark.parametrize("words", ["a\0b", "", "\ud800", "x" * 501])
def test_words_that_cannot_be_kept_are_named_and_the_draft_stays(bench, job, now, words):
    made = estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    with pytest.raises(BadInput, match="words"):
        estimate_services.save_draft(job, "", [line("Good"), line(words)], by=bench.by)
    assert [row.words for row in made.lines.all()] == ["Finding the fault and repair"]


class TestHold:
    def test_agreed_work_holds_nothing(self, bench, job, now):
        need = bench.record(job, "part_needed", spec="A belt").sequence
        agreed(bench, job, line(), line("A belt", need=need), at=now)
        assert beyond(bench, job) == []
        assert "agree-further-work" not in bench.traveller(job).checklist.by_key

    def test_a_part_beyond_the_agreement_holds_the_soak(self, bench, job, now):
        agreed(bench, job, line(), at=now)
        bench.record(job, "part_needed", spec="A belt")
        assert beyond(bench, job) == ["A belt"]
        assert bench.state(job, "agree-further-work") == "due"
        assert "agree-further-work" in {
            step.key for step in bench.traveller(job).checklist.unmet("soak")
        }

    def test_the_soak_is_refused_and_so_is_the_release_of_what_came_up_during_it(self, bench, now):
        number = bench.receive(facts=amplifier())
        agreed(bench, number, line(), at=now)
        bench.open_up(number)
        bench.to_soak(number)
        bench.record(number, "part_needed", spec="A belt")
        bench.record(number, "part_arrived")
        with pytest.raises(Refused, match="customer agrees"):
            bench.stage(number, "released")

    def test_work_beyond_what_is_named_holds(self, bench, job, now):
        agreed(bench, job, line("Clean", work="controls-cleaned"), at=now)
        bench.record_late(job, "work_done", work="controls-cleaned")
        assert beyond(bench, job) == []
        bench.record_late(job, "work_done", work="relay-replaced")
        assert beyond(bench, job) == ["relay replaced"]

    def test_a_yes_to_the_new_version_lifts_it(self, bench, job, now):
        agreed(bench, job, line(), at=now)
        bench.record(job, "part_needed", spec="A belt")
        agreed(bench, job, at=now)
        assert beyond(bench, job) == []

    def test_a_no_to_the_new_version_does_not(self, bench, job, now):
        agreed(bench, job, line(), at=now)
        bench.record(job, "part_needed", spec="A belt")
        sent(bench, job, at=now)
        bench.record(job, "estimate_answered", answer="no")
        assert beyond(bench, job) == ["A belt"]

    def test_signed_after_a_call_it_stands_until_more_comes_up(self, bench, job, now):
        agreed(bench, job, line(), at=now)
        bench.record(job, "part_needed", spec="A belt")
        bench.sign(job, "agree-further-work", note="Rang: yes to 20 more.")
        assert bench.step(job, "agree-further-work").stands
        bench.record(job, "part_needed", spec="A bulb")
        assert not bench.step(job, "agree-further-work").stands

    def test_an_estimate_noted_without_lines_holds_nothing(self, bench, job):
        bench.record(job, "estimate_sent")
        bench.record(job, "estimate_answered", answer="yes")
        bench.record(job, "part_needed", spec="A belt")
        assert beyond(bench, job) == []


class TestLimit:
    def test_at_the_limit_it_is_agreed_as_it_is_sent(self, bench, job, now):
        bench.record(job, "limit_agreed", amount="100")
        sent(bench, job, line(price="100"), at=now)
        assert queries.record_of(bench.job(job)).estimate == "yes"
        assert (
            estimate_services.sent_estimates(queries.record_of(bench.job(job)))[0].row.data["way"]
            == "within-limit"
        )

    def test_a_cent_above_it_is_asked(self, bench, job, now):
        bench.record(job, "limit_agreed", amount="100")
        sent(bench, job, line(price="100.01"), at=now)
        assert queries.record_of(bench.job(job)).estimate == "sent"

    def test_with_a_limit_work_without_an_estimate_is_held(self, bench, job):
        bench.record(job, "limit_agreed", amount="100")
        assert beyond(bench, job) == []
        bench.record_late(job, "work_done", work="relay-cleaned")
        assert "rung above a price" in beyond(bench, job)[0]

    @pytest.mark.parametrize("amount", ["-1", "much", "", "NaN", "1e99", True, None])
    def test_an_amount_that_is_none_is_named(self, bench, job, amount):
        with pytest.raises(BadInput, match="amount"):
            bench.record(job, "limit_agreed", amount=amount)

    def test_a_comma_is_a_decimal_comma(self, bench, job):
        assert bench.record(job, "limit_agreed", amount="99,50").data["amount"] == "99.50"


class TestHearing:
    def test_the_customer_answers_a_version_by_link(self, bench, job, now):
        version = sent(bench, job, line(), at=now).version
        row = commands.record_estimate_answer(
            job, "question", version=version, note="Why so much?", at=now
        )
        assert (row.by, row.data["way"]) == (None, "link")
        commands.record_estimate_answer(job, "yes", version=version, note="", at=now)
        assert queries.record_of(bench.job(job)).estimate == "yes"

    def test_an_older_version_is_refused(self, bench, job, now):
        sent(bench, job, line(), at=now)
        sent(bench, job, at=now)
        with pytest.raises(Refused, match="newer estimate"):
            commands.record_estimate_answer(job, "yes", version=1, note="", at=now)

    def test_a_yes_is_not_taken_back_by_a_click(self, bench, job, now):
        version = agreed(bench, job, line(), at=now)
        with pytest.raises(Refused, match="said yes already"):
            commands.record_estimate_answer(job, "no", version=version, note="", at=now)

    def test_nothing_is_heard_before_anything_was_sent(self, bench, job, now):
        with pytest.raises(Refused, match="newer estimate"):
            commands.record_estimate_answer(job, "yes", version=1, note="", at=now)

    def test_a_closed_job_hears_nothing(self, bench, job, now):
        version = sent(bench, job, line(), at=now).version
        bench.pass_gate(job, "hand-back")
        bench.stage(job, "withdrawn")
        with pytest.raises(Refused, match="left the bench"):
            commands.record_estimate_answer(job, "yes", version=version, note="", at=now)


def test_each_version_keeps_its_own_answer(bench, job, now):
    sent(bench, job, line(), at=now)
    bench.record(job, "estimate_answered", answer="no", note="too dear")
    agreed(bench, job, line(price="80"), at=now)
    versions = estimate_services.sent_estimates(queries.record_of(bench.job(job)))
    assert [(version.estimate.version, version.answer) for version in versions] == [
        (2, "yes"),
        (1, "no"),
    ]


def test_who_may_only_look_drafts_nothing(people, job, now):
    with pytest.raises(Forbidden):
        estimate_services.get_or_create_draft(job, by=people.viewer, at=now)


def form(*lines, act="keep", words=""):
    sent_form = {"words": words, "act": act}
    sent_form |= {"line-TOTAL_FORMS": len(lines), "line-INITIAL_FORMS": 0}
    for place, given in enumerate(lines):
        base = {"sort": "labour", "words": "x", "quantity": "1", "price": "10", "tax_rate": "0"}
        sent_form |= {f"line-{place}-{name}": value for name, value in (base | given).items()}
    return sent_form


class TestPage:
    def test_keep_and_send(self, client, people, bench, job, now):
        client.force_login(people.desk)
        assert client.post(reverse("estimate-start", args=[job])).status_code == 302
        body = form(
            {"words": "Прибор", "price": "12.345"}, {"words": ""}, act="send", words="日本語"
        )
        assert client.post(reverse("estimate-change", args=[job]), body).status_code == 302
        page = client.get(reverse("estimate", args=[job])).content.decode()
        assert "Прибор" in page
        assert "日本語" in page
        assert "12.35 EUR" in page
        assert "No answer yet" in page

    def test_a_part_without_a_price_is_named_before_it_is_sent(self, client, people, job):
        client.force_login(people.desk)
        client.post(reverse("estimate-start", args=[job]))
        lines = [
            {"words": "Relay", "sort": "part", "price": "0"},
            {"words": "Belt", "sort": "part", "price": "4"},
            {"words": "A look", "price": "0"},
        ]
        page = client.post(
            reverse("estimate-change", args=[job]), form(*lines), follow=True
        ).content.decode()
        assert page.count("is on record") == 1
        assert "Line 1 costs nothing: no price of “Relay” is on record." in page

    def test_a_wrong_figure_is_named_and_nothing_is_lost(self, client, people, job):
        client.force_login(people.desk)
        client.post(reverse("estimate-start", args=[job]))
        answer = client.post(
            reverse("estimate-change", args=[job]), form({"words": "Kept words", "price": "-3"})
        )
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "greater than or equal to 0" in page
        assert "Kept words" in page
        assert not Estimate.objects.get().lines.filter(words="Kept words").exists()

    def test_a_struck_line_goes(self, client, people, job):
        client.force_login(people.desk)
        client.post(reverse("estimate-start", args=[job]))
        body = form({"words": "a"}, {"words": "b", "DELETE": "on"})
        client.post(reverse("estimate-change", args=[job]), body)
        assert [row.words for row in Estimate.objects.get().lines.all()] == ["a"]

    def test_the_stale_draft_is_refused(self, client, people, bench, job, now):
        sent(bench, job, line(), at=now)
        client.force_login(people.desk)
        answer = client.post(reverse("estimate-change", args=[job]), form({"words": "late"}))
        assert answer.status_code == 409
        assert "has been sent since" in answer.content.decode()

    def test_what_a_colleague_changed_meanwhile_is_not_lost(self, client, people, bench, job, now):
        client.force_login(people.desk)
        client.post(reverse("estimate-start", args=[job]))
        page = client.get(reverse("estimate", args=[job])).content.decode()
        seen = re.search(r'name="seen" value="(\w+)"', page)[1]
        estimate_services.save_draft(job, "", [line("By a colleague")], by=bench.by)
        path = reverse("estimate-change", args=[job])
        answer = client.post(path, form({"words": "Mine"}) | {"seen": seen})
        text = answer.content.decode()
        assert answer.status_code == 409
        assert "Mine" in text
        assert "By a colleague" in text
        assert [row.words for row in Estimate.objects.get().lines.all()] == ["By a colleague"]
        again = re.search(r'name="seen" value="(\w+)"', text)[1]
        assert client.post(path, form({"words": "Both"}) | {"seen": again}).status_code == 302

    def test_the_answer_by_telephone(self, client, people, bench, job, now):
        sent(bench, job, line(), at=now)
        client.force_login(people.desk)
        body = {"answer": "yes", "way": "telephone", "note": "Mr K."}
        assert client.post(reverse("estimate-answered", args=[job]), body).status_code == 302
        assert "Answer: yes" in client.get(reverse("estimate", args=[job])).content.decode()
        assert client.post(reverse("estimate-answered", args=[job]), {}).status_code == 422

    def test_the_limit(self, client, people, job):
        client.force_login(people.desk)
        page = client.post(reverse("estimate-limit", args=[job]), {"amount": "lots"})
        assert page.status_code == 422
        assert "lots" in page.content.decode()
        client.post(reverse("estimate-limit", args=[job]), {"amount": "150"})
        assert "150.00 EUR" in client.get(reverse("estimate", args=[job])).content.decode()


def test_a_part_that_nobody_offers_is_drafted_as_it_was_bought_last(bench, job, now):
    part = PartFactory(spec="Relay 24 V")
    order = Order.objects.create(
        supplier=SupplierFactory(), placed_by=bench.by, placed_at=now, expected_on=now.date()
    )
    for price in ("5.10", "6.40", "0"):
        OrderLine.objects.create(order=order, part=part, quantity=1, price=Decimal(price))
    bench.record(job, "part_needed", spec="Relay 24 V", part=part.pk)
    draft = estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    assert draft.lines.get(need__isnull=False).price == Decimal("6.40")
