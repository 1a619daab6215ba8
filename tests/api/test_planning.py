from __future__ import annotations

import pytest

from shop.jobs.models import JobPart
from shop.parts.models import Stock
from tests.factories import PartFactory, SupplierFactory
from tests.planning.test_ordering import needing

pytestmark = pytest.mark.django_db


@pytest.fixture
def relay():
    return PartFactory(spec="Relay 24 V")


def got(api, path, **query):
    status, answer = api.get(path, **query)
    assert status == 200, answer
    return answer


def body(relay, supplier, number, need, quantity=1):
    needs = [{"job": number, "need": need}]
    line = {"part": relay.pk, "quantity": quantity, "price": "2.50", "needs": needs}
    return {"supplier": supplier.pk, "lines": [line]}


def test_from_need_to_order_to_parcel(api, bench, relay):
    number, need = needing(bench, relay)
    [wanted] = got(api, "backlog/parts/")
    assert (wanted["job"], wanted["ordered"], wanted["part"]) == (number, False, relay.pk)

    status, made = api.post(
        "backlog/orders/", body(relay, SupplierFactory(name="North"), number, need)
    )
    assert status == 201
    [listed] = got(api, "backlog/orders/")
    assert (listed["number"], listed["frees"], listed["closed"]) == (
        made["number"],
        [number],
        False,
    )

    line = str(made["lines"][0]["line"])
    where = f"backlog/orders/{made['number']}/arrived/"
    assert api.post(where, {"lines": {line: 1}, "bin": "A"}) == (200, {"jobs": [number]})
    assert got(api, f"jobs/{number}/")["waiting_on"] == "hands"
    assert got(api, "backlog/orders/") == []
    assert Stock.objects.get().reserved == 1
    [part] = got(api, "parts/", q="relay")
    assert (part["lying"], part["free"], part["on_order"]) == (1, 0, 0)
    assert got(api, "backlog/next/")["quick"][0]["what"].startswith("Back on the bench")
    status, said = api.post(where, {"lines": {line: 1}})
    assert status == 409
    assert "0 are still to come" in said["reason"]


def test_given_up(api, bench, relay):
    number, need = needing(bench, relay)
    _, made = api.post("backlog/orders/", body(relay, SupplierFactory(), number, need))
    where = f"backlog/orders/{made['number']}/given-up/"
    lines = {str(made["lines"][0]["line"]): 1}
    assert api.post(where, {"lines": lines, "why": "bored"})[0] == 422
    assert api.post(where, {"lines": lines, "why": "lost"}) == (200, {"jobs": [number]})
    assert not JobPart.objects.get().ordered


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"supplier": 4711}, 422, "supplier is 4711"),
        ({"lines": []}, 422, "The order is empty"),
        ({"lines": [{"part": 4711, "quantity": 1}]}, 422, "part is 4711"),
        ({"lines": [{"part": 1, "quantity": 0}]}, 422, "quantity"),
        ({"lines": [{"part": 1, "quantity": 1, "price": "-1"}]}, 422, "price"),
        ({"lines": [{"part": 1, "quantity": 1, "colour": "red"}]}, 422, "colour"),
    ],
)
def test_an_order_that_makes_no_sense(api, bench, relay, change, status, said):
    number, need = needing(bench, relay)
    answer = api.post("backlog/orders/", body(relay, SupplierFactory(), number, need) | change)
    assert answer[0] == status
    assert said in answer[1]["reason"]


def test_more_for_needs_than_on_the_line(api, bench, relay):
    number, need = needing(bench, relay)
    given = body(relay, SupplierFactory(), number, need)
    given["lines"][0]["needs"][0]["quantity"] = 2
    assert "ask for more" in api.post("backlog/orders/", given)[1]["reason"]


def test_an_order_that_is_not_there(api):
    assert api.post("backlog/orders/4711/arrived/", {"lines": {"1": 1}})[0] == 404


def test_a_job_with_thin_history_gets_words(api, bench, relay):
    number, _ = needing(bench, relay)
    found = got(api, f"jobs/{number}/finish/")
    assert found["half"] is None
    assert "Too few closed jobs" in found["words"]
