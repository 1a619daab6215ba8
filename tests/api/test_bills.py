"""Bills for programs: from the draft to the payment and back, for each role."""

from __future__ import annotations

import json
from io import BytesIO

import facturx
import pytest
from django.utils import timezone
from pypdf import PdfReader

from shop.bills import services
from shop.bills.models import Bill
from tests.api.conftest import caller_for
from tests.bills.conftest import desk, gone, issued, office

__all__ = ["desk", "gone", "issued", "office"]
pytestmark = pytest.mark.django_db

ALL, BILL = {"viewer", "desk", "technician", "owner"}, {"desk", "owner"}
# {n} is a job with a draft, {key} an issued bill: who may, with which body, and what it answers.
ENDPOINTS = {
    ("get", "bills/"): (ALL, None, 200),
    ("get", "jobs/{n}/bills/"): (ALL, None, 200),
    ("get", "bills/{key}/"): (ALL, None, 200),
    ("get", "bills/{key}/paper.pdf"): (ALL, None, 200),
    ("get", "bills/{key}/invoice.xml"): (ALL, None, 200),
    ("post", "jobs/{n}/bills/"): (BILL, None, 201),
    ("put", "jobs/{n}/bills/draft/"): (BILL, {"words": "Thank you."}, 200),
    ("post", "jobs/{n}/bills/issue/"): (BILL, None, 201),
    ("post", "bills/{key}/payments/"): (BILL, {"amount": "1", "paid_on": "2026-03-02"}, 201),
    ("post", "bills/{key}/credit/"): (BILL, {"words": "Billed twice."}, 201),
    ("post", "bills/{key}/send/"): (BILL, None, 201),
}


@pytest.fixture
def program(people):
    return caller_for(people.desk)


def raw(program, path):
    return program.client.get(f"/api/v1/{path}", headers=program.headers)


@pytest.mark.parametrize("endpoint", ENDPOINTS, ids=" ".join)
@pytest.mark.parametrize("role", [*sorted(ALL), "nobody"])
def test_every_endpoint_for_every_role(people, issued, bench, desk, now, endpoint, role):
    verb, path = endpoint
    allowed, body, status = ENDPOINTS[endpoint]
    number = issued.job_id
    if "{n}" in path:
        services.get_or_create_draft(number, by=desk, at=now)
        Bill.objects.filter(place=None).update(differs_because="More work.")
        given = {"delivered_on": timezone.localdate(), "terms_days": 14, "differs_because": "More."}
        line = {"sort": "other", "words": "More", "quantity": 1, "price": 5, "tax_rate": 19}
        services.save_draft(number, given, [line | {"need": None, "work": ""}], by=desk)
    caller, path = caller_for(people.named(role)), path.format(n=number, key=issued.pk)
    if path.endswith((".pdf", ".xml")):
        got = raw(caller, path).status_code
    else:
        got = (caller.get(path) if verb == "get" else getattr(caller, verb)(path, body))[0]
    assert got == (status if role in allowed else 403)


def test_from_the_draft_to_the_payment(program, gone):
    status, draft = program.post(f"jobs/{gone}/bills/")
    assert (status, draft["number"], draft["state"], draft["owed"]) == (201, "", "draft", "0.00")
    line = {"sort": "labour", "words": "Repair", "quantity": "1.5", "price": "80", "tax_rate": "19"}
    status, kept = program.put(f"jobs/{gone}/bills/draft/", {"lines": [line], "terms_days": 7})
    assert (status, kept["net"], kept["tax"], kept["total"]) == (200, "120.00", "22.80", "142.80")
    status, bill = program.post(f"jobs/{gone}/bills/issue/")
    assert (status, bill["state"], bill["owed"]) == (201, "open", "142.80")
    assert bill["buyer"] == ["Mirela Kovač", "7 Brass Row", "54321 Lower Tin", "GERMANY"]
    today = str(timezone.localdate())
    payment = {"amount": "142.80", "paid_on": today, "way": "cash"}
    status, paid = program.post(f"bills/{bill['key']}/payments/", payment)
    assert (status, paid["state"], paid["owed"], paid["paid"]) == (201, "paid", "0.00", "142.80")
    assert paid["payments"] == [payment | {"note": ""}]
    assert program.get("bills/", state="owed")[1] == []
    assert [one["number"] for one in program.get("bills/")[1]] == [bill["number"]]


def test_a_credit_note(program, issued):
    status, note = program.post(f"bills/{issued.pk}/credit/", {"words": "Billed twice."})
    assert (status, note["sort"], note["corrects"]) == (201, "credit", issued.number)
    status, note = program.post(f"jobs/{issued.job_id}/bills/issue/")
    assert (status, note["total"], note["owed"]) == (201, "190.40", "0.00")
    assert program.get(f"bills/{issued.pk}/")[1]["state"] == "credited"


def test_the_paper_and_the_invoice(program, issued):
    paper = raw(program, f"bills/{issued.pk}/paper.pdf?size=us-letter")
    assert paper["Content-Type"] == "application/pdf"
    inside = PdfReader(BytesIO(paper.content)).attachments["factur-x.xml"][0]
    xml = raw(program, f"bills/{issued.pk}/invoice.xml")
    assert xml.content == inside
    assert facturx.xml_check_xsd(xml.content, flavor="factur-x", level="en16931")


def test_a_draft_has_neither(program, gone):
    key = program.post(f"jobs/{gone}/bills/")[1]["key"]
    for name in ("paper.pdf", "invoice.xml"):
        assert program.get(f"bills/{key}/{name}")[0] == 409


def test_what_is_not_there_is_said(program, gone):
    assert program.get("bills/999/") == (404, {"reason": "There is no bill 999."})
    assert program.put(f"jobs/{gone}/bills/draft/", {})[0] == 409
    assert program.post(f"jobs/{gone}/bills/issue/")[0] == 409


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"buyer_country": "Atlantis"}, "buyer_country"),
        ({"untaxed_as": "gone"}, "untaxed_as"),
        ({"colour": "red"}, "colour"),
        ({"lines": [{"words": "x", "price": "-1"}]}, "lines.0.price"),
        ({"lines": [{"words": "x", "price": "1", "sort": "gift"}]}, "lines.0.sort"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_kept(program, gone, body, field):
    before = program.post(f"jobs/{gone}/bills/")[1]
    status, said = program.put(f"jobs/{gone}/bills/draft/", body)
    assert (status, [one["field"] for one in said["problems"]]) == (422, [field])
    assert program.post(f"jobs/{gone}/bills/")[1] == before


def test_a_payment_sent_twice_is_noted_once(program, issued):
    body = json.dumps({"amount": "10", "paid_on": str(timezone.localdate())})
    headers = program.headers | {"Idempotency-Key": "pay-1"}
    path = f"/api/v1/bills/{issued.pk}/payments/"
    first, second = (
        program.client.post(path, body, "application/json", headers=headers) for _ in range(2)
    )
    assert (first.status_code, second.status_code) == (201, 201)
    assert second["Idempotency-Replayed"] == "true"
    assert second.json()["paid"] == "10.00"
    assert issued.payments.count() == 1


def test_a_bill_issued_twice_with_one_key_has_one_number(program, gone, desk, now):
    services.get_or_create_draft(gone, by=desk, at=now)
    headers = program.headers | {"Idempotency-Key": "issue-1"}
    path = f"/api/v1/jobs/{gone}/bills/issue/"
    numbers = [
        program.client.post(path, "{}", "application/json", headers=headers).json()["number"]
        for _ in range(2)
    ]
    assert numbers[0] == numbers[1]
    assert Bill.objects.filter(place__isnull=False).count() == 1
