from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.jobs.models import JobPart
from shop.parts.models import Order, OrderLine, Part, Stock
from shop.planning import backlog, basket_proposals
from tests.factories import OfferFactory, PartFactory, SupplierFactory
from tests.helpers import amplifier
from tests.planning.test_forecasting import past
from tests.planning.test_ordering import needing, order

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def market():
    """One relay at two suppliers: North is cheaper, South faster."""
    relay = PartFactory(spec="Relay 24 V")
    north = SupplierFactory(name="North", postage=Decimal("4.90"), usual_days=9)
    south = SupplierFactory(name="South", postage=Decimal("4.90"), usual_days=2)
    OfferFactory(part=relay, supplier=north, breaks={1: "2.00", 10: "1.20"})
    OfferFactory(part=relay, supplier=south, breaks={1: "3.00"})
    return relay


def test_what_waits_says_since_when_until_when_and_how_late(bench, market, now):
    need = needing(bench, market)
    made = order(bench, market, [(need, 1)])
    Order.objects.update(expected_on=timezone.localdate(now) - timedelta(days=2))
    [wait] = backlog.waiting_jobs(timezone.now())
    assert (wait.job.number, wait.late_days, wait.parts) == (need[0], 2, "0 of 1 parts here")
    assert wait.until == Order.objects.get(pk=made.pk).expected_on


def test_a_parcel_says_whom_it_frees_and_whom_it_only_helps(bench, market):
    frees, helps = needing(bench, market), needing(bench, market)
    bench.record(helps[0], "part_needed", spec="a belt")
    order(bench, market, [(frees, 1), (helps, 1)])
    [parcel] = backlog.open_parcels(timezone.now())
    assert [job.number for job in parcel.frees] == [frees[0]]
    assert [job.number for job in parcel.helps] == [helps[0]]


def test_the_basket_is_proposed_seen_and_placed(hands, bench, market):
    first, second = needing(bench, market), needing(bench, market)
    page = hands.get("/backlog/order/").content.decode()
    assert "this is the cheapest basket" in page
    needs = [need.pk for need in JobPart.objects.all()]
    body = {"needs": needs, "per_day": "0", "digest": "0" * 16}
    assert hands.post("/backlog/order/", body).status_code == 409
    assert not Order.objects.exists()

    body["digest"] = basket_proposals.propose_basket(
        list(basket_proposals.unordered_needs()), Decimal(0)
    ).digest
    answer = hands.post("/backlog/order/", body, follow=True)

    assert "from North: expected" in answer.content.decode()
    [line] = OrderLine.objects.all()
    assert (line.quantity, line.price, line.allocations.count()) == (2, Decimal("2.00"), 2)
    for number, _ in (first, second):
        assert bench.kinds(number)[-1] == "part_ordered"


def test_a_day_that_is_dear_changes_the_basket(bench, market):
    needing(bench, market)
    needs = list(basket_proposals.unordered_needs())
    assert [
        str(s["supplier"]) for s in basket_proposals.propose_basket(needs, Decimal(0)).by_supplier
    ] == ["North"]
    hurried = basket_proposals.propose_basket(needs, Decimal(5))
    assert [str(s["supplier"]) for s in hurried.by_supplier] == ["South"]
    assert hurried.saving > 0


@pytest.mark.parametrize(
    ("query", "sentence"),
    [("?per_day=2", "tick at least one"), ("?per_day=much&needs=1", "is no number")],
)
def test_a_basket_that_cannot_be_is_a_sentence(hands, bench, market, query, sentence):
    needing(bench, market)
    answer = hands.get("/backlog/order/" + query)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_a_need_without_a_part_is_named_and_ordered(hands, bench):
    number = bench.receive(facts=amplifier())
    bench.record(number, "part_needed", spec="Belt 214 mm")
    need = JobPart.objects.get()
    supplier = SupplierFactory()
    body = {"supplier": supplier.pk, "price": "1.10", "quantity": "2", "reference": "X-1"}
    answer = hands.post(reverse("need", args=[number, need.need]), body, follow=True)
    assert "expected" in answer.content.decode()
    assert Part.objects.get().spec == "Belt 214 mm"
    [line] = OrderLine.objects.all()
    assert (line.quantity, line.allocations.get().quantity) == (2, 1)
    again = hands.post(reverse("need", args=[number, need.need]), body)
    assert again.status_code == 409


def test_a_parcel_is_unpacked_and_nothing_typed_is_lost(hands, bench, market):
    need = needing(bench, market)
    made = order(bench, market, [(need, 1)], quantity=3)
    line = made.lines.get()
    path = reverse("parcel", args=[made.pk])

    bad = hands.post(path, {"act": "arrived", line.field: "two", "bin": "A 7"})
    assert bad.status_code == 422
    assert "is no number of pieces" in bad.content.decode()
    assert 'value="A 7"' in bad.content.decode()
    assert 'value="two"' in bad.content.decode()

    many = hands.post(path, {"act": "arrived", line.field: "4"})
    assert many.status_code == 409
    done = hands.post(path, {"act": "arrived", line.field: "2", "bin": "A 7"}, follow=True)
    assert f"Taken in for job {need[0]}." in done.content.decode()
    assert (Stock.objects.get().on_hand, str(Stock.objects.get().bin)) == (2, "A 7")
    asked = hands.post(path, {"act": "lost", line.field: "1"}).content.decode()
    assert "give up as lost?" in asked
    assert f'name="{line.field}" value="1"' in asked
    lost = hands.post(path, {"act": "lost", line.field: "1", "sure": "yes"}, follow=True)
    assert "Noted as lost." in lost.content.decode()
    assert "Done " in lost.content.decode()


def test_one_tap_from_a_finding_and_from_the_kit(hands, bench):
    unit = {"make": "Corvenby", "model": "Spool 3"}
    earlier = bench.receive(facts=amplifier(), **unit)
    bench.record(earlier, "part_needed", spec="Belt 214 mm", quantity=2)
    bench.record(earlier, "part_arrived")
    bench.record_late(earlier, "part_fitted")
    number = bench.receive(facts=amplifier(), **unit)
    bench.record(number, "finding_recorded", finding="belt-perished")

    page = hands.get(f"/jobs/{number}/parts/").content.decode()
    assert "Last time this model took" in page
    assert "Belt: inner length and section to be measured" in page
    body = {"spec": "Belt 214 mm", "quantity": "2", "required": "on"}
    hands.post(reverse("record", args=[number, "part_needed"]), body)
    need = bench.traveller(number).record.needs[0]
    assert (need.spec, need.quantity) == ("Belt 214 mm", 2)
    assert "Last time this model took" not in hands.get(f"/jobs/{number}/parts/").content.decode()


def test_a_unit_without_a_name_has_no_kit(hands, bench):
    for _ in range(2):
        number = bench.receive(facts=amplifier(), make="", model="", serial="")
        bench.record(number, "part_needed", spec="x")
        bench.record(number, "part_arrived")
        bench.record_late(number, "part_fitted")
    other = bench.receive(facts=amplifier(), make="", model="", serial="")
    assert "Last time" not in hands.get(f"/jobs/{other}/parts/").content.decode()


@pytest.mark.parametrize(
    ("breaks", "sentence"),
    [
        ("2.40", "write quantity and price like"),
        ("", "This field is required."),
        ("0: 2.40", "from 1 piece on"),
        ("1: two", "write quantity and price like"),
        ("1: " + "9" * 20, "write quantity and price like"),
        ("1: " + "9" * 5000, "write quantity and price like"),
        ("9" * 20 + ": 1", "write quantity and price like"),
    ],
)
def test_prices_that_make_no_sense_are_named(hands, breaks, sentence):
    part, supplier = PartFactory(), SupplierFactory()
    body = {"supplier": supplier.pk, "breaks": breaks}
    answer = hands.post(reverse("part-offer", args=[part.pk]), body)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_prices_with_a_comma_are_kept(hands):
    part, supplier = PartFactory(), SupplierFactory()
    body = {"supplier": supplier.pk, "breaks": "1: 2,40\n10: 1.955"}
    page = hands.post(reverse("part-offer", args=[part.pk]), body, follow=True)
    assert "2.40 EUR each, 1.9550 EUR each from 10 on" in " ".join(page.content.decode().split())


def test_stock_on_the_page(hands, bench, market):
    path = reverse("part-stock", args=[market.pk])
    hands.post(path, {"act": "bought", "quantity": "3", "bin": "B"})
    refused = hands.post(path, {"act": "scrapped", "quantity": "5", "bin": "B", "note": "bent"})
    assert refused.status_code == 409
    assert "3 are free, 5 were asked for" in refused.content.decode()
    assert 'value="bent"' in refused.content.decode()
    hands.post(path, {"act": "counted", "quantity": "2", "bin": "B"})
    assert Stock.objects.get().on_hand == 2
    listed = hands.get("/parts/?q=relay+24").content.decode()
    assert "Relay 24 V" in listed
    assert "No part fits" in hands.get("/parts/?q=belt").content.decode()


def test_the_flow_page_in_numbers(hands, bench, now):
    for n in range(20):
        past(now, "opened", days=n + 1, rest=1, ended=n % 10 + 1)
    old = bench.receive(facts=amplifier())
    text = " ".join(hands.get("/flow/").content.decode().split())
    assert "10.5 d" in text  # the median of 1..20
    assert "(Little's law)" in text
    assert f"/jobs/{old}/" in text
    assert "<svg" in text


def test_an_empty_shop_has_pages_that_say_what_to_do(hands):
    assert "Nobody waits on parts" in hands.get("/backlog/").content.decode()
    assert "No part fits" in hands.get("/parts/").content.decode()
    assert "No unit has been here" in hands.get("/flow/").content.decode()
    assert "No supplier yet" in hands.get("/suppliers/").content.decode()


def test_the_flow_draws_a_bar_for_what_came_and_none_for_nothing(hands, bench):
    bench.receive()
    page = hands.get("/flow/").content.decode()
    assert page.count('<rect class="c-came"') == 1
    assert '<rect class="c-left"' not in page


def test_a_first_order_names_its_supplier_there_and_then(hands, bench):
    number = bench.receive()
    bench.record(number, "part_needed", spec="relay 24 V")
    need = JobPart.objects.get(job_id=number).need
    path = reverse("need", args=[number, need])
    assert (
        "write the name of a new one"
        in hands.post(path, {"price": "6.40", "quantity": "1"}).content.decode()
    )
    sent = {"new_supplier": "North Parts", "price": "6.40", "quantity": "1"}
    assert hands.post(path, sent).status_code == 302
    assert Order.objects.get().supplier.name == "North Parts"
