"""Carriers: what the setting takes, and the address that follows a parcel."""

from __future__ import annotations

from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse

from shop.customers import carriers
from shop.customers.links import keys
from shop.jobs.models import LedgerRow
from shop.preferences.kinds import CARRIERS, BadText
from tests.helpers import amplifier

NORTH = "North Post https://north.example/follow?id={number}&lang=en"
HILL = "Over the Hill https://hill.example/{number}"


@pytest.fixture
def two(settings):
    settings.CARRIERS = CARRIERS.read(f"{NORTH}\n\n  {HILL} ")


@pytest.mark.parametrize(
    "wrong",
    [
        "North Post",
        "https://north.example/{number}",
        "North Post https://north.example/",
        "North Post javascript:alert({number})",
        "North Post https://{number}.example/",
        "North Post https://north.example/{number}/{other}",
        "North Post https://north.example/{number.__class__}",
        "North Post https://[north/{number}",
        f"{NORTH}\nNORTH POST https://x.example/{{number}}",
        f"{NORTH}\nHill",
    ],
)
def test_a_line_that_leads_nowhere_is_named(wrong):
    with pytest.raises(BadText, match="each line with another name"):
        CARRIERS.read(wrong)


def test_what_is_read(two):
    assert carriers.names() == ["North Post", "Over the Hill"]
    assert CARRIERS.read("") == ()


def test_the_number_stands_in_the_address_and_nowhere_else(two):
    number = "NP 7/8&lang=xx#Ж"
    address = urlsplit(carriers.follow("north post ", number))
    assert address.hostname == "north.example"
    assert address.fragment == ""
    assert parse_qs(address.query) == {"id": [number], "lang": ["en"]}
    assert carriers.follow("Over the Hill", "../../x") == "https://hill.example/..%2F..%2Fx"


@pytest.mark.parametrize(("carrier", "number"), [("Other", "1"), ("", "1"), ("North Post", " ")])
def test_no_link_for_an_unknown_carrier_or_without_a_number(two, carrier, number):
    assert carriers.follow(carrier, number) == ""


@pytest.mark.django_db
class TestPages:
    @pytest.fixture
    def gone(self, bench):
        number = bench.receive(facts=amplifier())
        bench.pass_gate(number, "hand-back")
        bench.stage(number, "withdrawn")
        return number

    def test_the_customer_follows_the_parcel(self, bench, gone, two, now):
        bench.record(gone, "shipped", carrier="North Post", tracking="NP 77")
        token = keys.token(keys.link_for(bench.job(gone), now=now))
        text = Client().get(reverse("your-unit", args=[token])).content.decode()
        assert 'href="https://north.example/follow?id=NP%2077&amp;lang=en"' in text

    def test_the_desk_is_offered_the_names_and_follows_it_too(self, client, people, gone, two):
        client.force_login(people.desk)
        path = reverse("customer-side", args=[gone])
        assert '<option value="Over the Hill">' in client.get(path).content.decode()
        client.post(
            reverse("customer-shipped", args=[gone]), {"carrier": "over the hill", "tracking": "9"}
        )
        assert 'href="https://hill.example/9"' in client.get(path).content.decode()
        assert bench_words(gone) == "over the hill"

    def test_without_carriers_the_number_stands_alone(self, bench, client, people, gone):
        bench.record(gone, "shipped", carrier="North Post", tracking="NP 77")
        client.force_login(people.desk)
        text = client.get(reverse("customer-side", args=[gone])).content.decode()
        assert "NP 77" in text
        assert "north.example" not in text


def bench_words(number: int) -> str:
    return LedgerRow.objects.get(job=number, event_type="shipped").data["carrier"]
