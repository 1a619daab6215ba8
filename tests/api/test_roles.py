from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from shop.accounts import people as of_shop
from shop.accounts.models import AccountLink
from shop.customers.announced import services as announcing
from shop.jobs import events
from shop.parts.orders import LineToOrder
from shop.photos.models import PhotoMark
from shop.planning import ordering
from tests.api.conftest import caller_for
from tests.api.test_bills import ENDPOINTS as OF_BILLS
from tests.factories import PartFactory, SupplierFactory
from tests.helpers import amplifier
from tests.manuals.pdfs import file_of_model
from tests.photos.pictures import snap


def test_openapi_describes_every_address(client):
    schema = client.get("/api/v1/openapi.json").json()
    assert set(schema["paths"]) == {
        "/api/v1/jobs/",
        "/api/v1/jobs/{number}/",
        "/api/v1/jobs/{number}/checklist/",
        "/api/v1/jobs/{number}/next/",
        "/api/v1/jobs/{number}/steps/{key}/sign/",
        "/api/v1/jobs/{number}/steps/{key}/waive/",
        "/api/v1/jobs/{number}/power/",
        "/api/v1/jobs/{number}/plug/doubted/",
        "/api/v1/jobs/{number}/cover/",
        "/api/v1/jobs/{number}/stage/",
        "/api/v1/jobs/{number}/ledger/",
        "/api/v1/jobs/{number}/intake/",
        "/api/v1/jobs/{number}/join/",
        "/api/v1/jobs/{number}/finish/",
        "/api/v1/search/",
        "/api/v1/settings/",
        "/api/v1/settings/usual/",
        "/api/v1/settings/history/",
        "/api/v1/instruments/",
        "/api/v1/jobs/{number}/estimates/",
        "/api/v1/jobs/{number}/photos/",
        "/api/v1/jobs/{number}/messages/",
        "/api/v1/jobs/{number}/earlier-facts/",
        "/api/v1/announced/",
        "/api/v1/announced/{key}/",
        "/api/v1/announced/{key}/receive/",
        "/api/v1/bills/",
        "/api/v1/bills/{key}/",
        "/api/v1/bills/{key}/paper.pdf",
        "/api/v1/bills/{key}/invoice.xml",
        "/api/v1/bills/{key}/payments/",
        "/api/v1/bills/{key}/credit/",
        "/api/v1/bills/{key}/send/",
        "/api/v1/jobs/{number}/bills/",
        "/api/v1/jobs/{number}/bills/draft/",
        "/api/v1/jobs/{number}/bills/issue/",
        "/api/v1/manuals/",
        "/api/v1/manuals/{key}/",
        "/api/v1/manuals/{key}/links/",
        "/api/v1/manuals/links/{key}/",
        "/api/v1/photos/{key}/marks/",
        "/api/v1/photos/{key}/marks/{mark}/",
        "/api/v1/people/",
        "/api/v1/people/{key}/",
        "/api/v1/people/{key}/link/",
        "/api/v1/people/{key}/second-factors/",
        "/api/v1/people/links/",
        "/api/v1/people/links/{key}/",
        "/api/v1/parts/",
        "/api/v1/backlog/parts/",
        "/api/v1/backlog/next/",
        "/api/v1/backlog/orders/",
        "/api/v1/backlog/orders/{number}/arrived/",
        "/api/v1/backlog/orders/{number}/given-up/",
    }


def test_openapi_describes_each_kind_of_row_that_people_write(client):
    schemas = client.get("/api/v1/openapi.json").json()["components"]["schemas"]
    row = schemas["RowIn"]
    kinds = {event.event_type for event in events.written_by_people()}
    assert row["discriminator"]["propertyName"] == "kind"
    assert set(row["discriminator"]["mapping"]) == kinds
    assert len(row["oneOf"]) == len(kinds)
    for event in events.written_by_people():
        body, data = schemas[f"{event.__name__}Row"], schemas[event.__name__]
        assert body["properties"]["kind"]["const"] == event.event_type
        assert data["description"]
        assert data["additionalProperties"] is False
        assert data.get("properties", {}).keys() == event.model_fields.keys() - event.filled_in
        assert ("data" in body["required"]) is bool(data.get("required"))


# What each role gets from each endpoint: a body that would be taken, were the role right.
ENDPOINTS = {
    ("get", "jobs/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("post", "jobs/"): ({"unit": {"make": "M"}}, {"desk", "technician", "owner"}),
    ("get", "jobs/{n}/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "jobs/{n}/checklist/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "jobs/{n}/next/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "jobs/{n}/ledger/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "backlog/parts/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "backlog/next/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "backlog/orders/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "parts/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "search/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "instruments/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "settings/"): (None, {"owner"}),
    ("get", "settings/usual/"): (None, {"owner"}),
    ("get", "settings/history/"): (None, {"owner"}),
    ("patch", "settings/"): ({"hands": "2"}, {"owner"}),
    ("get", "manuals/?make=M&model=X"): (None, {"viewer", "desk", "technician", "owner"}),
    # No file is sent: who may send one is told so. Files: test_manuals.py.
    ("post", "manuals/?make=M&model=X"): ({}, {"desk", "technician", "owner"}),
    ("get", "manuals/{m}/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("delete", "manuals/{m}/"): (None, {"owner"}),
    ("post", "manuals/{m}/links/"): (
        {"page": 1, "beside": "step", "key": "fuse-check"},
        {"desk", "technician", "owner"},
    ),
    ("delete", "manuals/links/{pl}/"): (None, {"desk", "technician", "owner"}),
    ("get", "photos/{ph}/marks/"): (None, {"desk", "technician", "owner"}),
    ("post", "photos/{ph}/marks/"): (
        {"shape": "ring", "x1": 1, "y1": 1, "x2": 9, "y2": 9},
        {"desk", "technician", "owner"},
    ),
    ("delete", "photos/{ph}/marks/{mk}/"): (None, {"desk", "technician", "owner"}),
    ("get", "people/"): (None, {"owner"}),
    ("patch", "people/{p}/"): ({"role": "desk"}, {"owner"}),
    ("post", "people/{p}/link/"): ({}, {"owner"}),
    ("delete", "people/{p}/second-factors/"): (None, {"owner"}),
    ("get", "people/links/"): (None, {"owner"}),
    ("post", "people/links/"): ({"name": "lou", "role": "desk"}, {"owner"}),
    ("delete", "people/links/{l}/"): (None, {"owner"}),
    ("get", "jobs/{n}/estimates/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("get", "jobs/{n}/messages/"): (None, {"desk", "technician", "owner"}),
    ("post", "jobs/{n}/messages/"): ({"text": "On Friday."}, {"desk", "technician", "owner"}),
    ("get", "jobs/{n}/earlier-facts/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("post", "jobs/{n}/earlier-facts/"): ({}, {"technician", "owner"}),
    ("get", "announced/"): (None, {"desk", "technician", "owner"}),
    ("post", "announced/"): ({"name": "Ada"}, {"desk", "technician", "owner"}),
    ("get", "announced/{a}/"): (None, {"desk", "technician", "owner"}),
    ("patch", "announced/{a}/"): ({"make": "Corvenby"}, {"desk", "technician", "owner"}),
    ("delete", "announced/{a}/"): (None, {"desk", "technician", "owner"}),
    ("post", "announced/{a}/receive/"): ({}, {"desk", "technician", "owner"}),
    ("get", "jobs/{n}/photos/"): (None, {"viewer", "desk", "technician", "owner"}),
    # No picture is sent: who may send one is told so. Pictures: test_examples.py.
    ("post", "jobs/{n}/photos/"): ({}, {"desk", "technician", "owner"}),
    ("post", "jobs/{n}/estimates/"): (
        {"lines": [{"words": "Repair", "price": "60"}]},
        {"desk", "technician", "owner"},
    ),
    ("get", "jobs/{n}/finish/"): (None, {"viewer", "desk", "technician", "owner"}),
    ("post", "backlog/orders/"): (
        lambda line: {
            "supplier": line.order.supplier_id,
            "lines": [{"part": line.part_id, "quantity": 2}],
        },
        {"desk", "technician", "owner"},
    ),
    ("post", "backlog/orders/{o}/arrived/"): (
        lambda line: {"lines": {line.pk: 1}},
        {"desk", "technician", "owner"},
    ),
    ("post", "backlog/orders/{o}/given-up/"): (
        lambda line: {"lines": {line.pk: 1}, "why": "lost"},
        {"desk", "technician", "owner"},
    ),
    ("post", "jobs/{n}/steps/visual-intake/sign/"): ({"result": "pass"}, {"technician", "owner"}),
    ("post", "jobs/{n}/steps/no-power-before-look-inside/waive/"): (
        {"reason": "seen"},
        {"owner"},
    ),
    ("post", "jobs/{n}/power/"): ({"to": "isolated"}, {"viewer", "desk", "technician", "owner"}),
    ("post", "jobs/{n}/plug/doubted/"): ({}, {"viewer", "desk", "technician", "owner"}),
    ("post", "jobs/{n}/cover/"): ({"to": "on"}, {"technician", "owner"}),
    ("post", "jobs/{n}/stage/"): ({"to": "reproducing"}, {"technician", "owner"}),
    ("patch", "jobs/{n}/intake/"): (
        {"complaint": {"text": "hums"}},
        {"desk", "technician", "owner"},
    ),
    ("post", "jobs/{n}/join/"): ({"into": 1}, {"technician", "owner"}),
    ("post", "jobs/{n}/ledger/"): (
        {"kind": "note_added", "data": {"text": "x"}},
        {"desk", "technician", "owner"},
    ),
}


# What the job of this test cannot have done to it; who may do it is told so.
NOT_HERE = {
    "join": "same-job",  # into itself
    "earlier-facts": "first-visit",
    "messages": "nobody",
}


# What these take is no JSON.
WITH_A_FILE = {("post", "jobs/{n}/photos/"), ("post", "manuals/?make=M&model=X")}


@pytest.mark.parametrize("role", ["owner", "technician", "desk", "viewer", "nobody"])
@pytest.mark.parametrize("endpoint", ENDPOINTS, ids=" ".join)
def test_every_endpoint_for_every_role(people, bench, endpoint, role):
    verb, path = endpoint
    body, allowed = ENDPOINTS[endpoint]
    number = bench.receive(facts=amplifier(intake__damage=["burnt-smell"]))
    caller = caller_for(people.named(role))

    wanted = [LineToOrder(PartFactory(), 3, Decimal(1))]
    order = ordering.place(SupplierFactory(), wanted, by=bench.by, at=timezone.now())
    body = body(order.lines.get()) if callable(body) else body

    coming = announcing.announce({"make": "Corvenby"}, by=people.desk, at=timezone.now())
    of_shop.invite("mo", "desk", by=people.owner, at=timezone.now())
    link = AccountLink.objects.get()
    manual, photo = file_of_model(people.owner), snap(number, by=people.owner)
    mark = PhotoMark.objects.create(
        photo=photo, shape="ring", x1=0, y1=0, x2=9, y2=9, by=people.owner, at=timezone.now()
    )
    path = path.format(
        n=number,
        o=order.pk,
        a=coming.pk,
        p=people.viewer.pk,
        l=link.pk,
        m=manual.pk,
        pl=manual.links.get().pk,
        ph=photo.pk,
        mk=mark.pk,
    )
    if "into" in (body or {}):
        body = {"into": number}
    status, answer = caller.get(path) if verb == "get" else getattr(caller, verb)(path, body)

    last = path.split("/")[-2]
    if role in allowed and verb == "post" and last in NOT_HERE:
        assert (status, answer["codes"]) == (409, [NOT_HERE[last]])
    elif role in allowed and endpoint in WITH_A_FILE:
        assert status == 422, answer
    elif role in allowed:
        assert status in (200, 201, 204), answer
    elif role == "technician" and "waive" in path:
        assert status == 409, "may sign, but not waive"
    else:
        assert status == 403
        assert answer["reason"].startswith("You are ")


def test_the_endpoint_matrix_is_complete(client):
    schema = client.get("/api/v1/openapi.json").json()
    written = {
        (verb, path.removeprefix("/api/v1/").replace("{number}", "{n}"))
        for path, verbs in schema["paths"].items()
        for verb in verbs
    }
    tested = {
        (
            verb,
            path.replace("visual-intake", "{key}")
            .replace("no-power-before-look-inside", "{key}")
            .replace("{o}", "{n}")
            .replace("{a}", "{key}")
            .replace("{p}", "{key}")
            .replace("{l}", "{key}")
            .replace("{m}", "{key}")
            .replace("{pl}", "{key}")
            .replace("{ph}", "{key}")
            .replace("{mk}", "{mark}")
            .partition("?")[0],
        )
        for verb, path in ENDPOINTS
    }
    assert written == tested | set(OF_BILLS)
