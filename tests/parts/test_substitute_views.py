from __future__ import annotations

import pytest
from django.urls import reverse

from shop.jobs.models import JobPart
from shop.parts.substitute_views import candidates_for
from tests.factories import OfferFactory, PartFactory

pytestmark = pytest.mark.django_db

NEEDED = {"microfarads": 4700.0, "volts": 63.0, "dielectric": "electrolytic"}


@pytest.fixture
def buyer(client, people):
    client.force_login(people.desk)
    return client


def part(spec, **changes):
    return PartFactory(spec=spec, part_class="capacitor", figures=NEEDED | changes)


def test_the_verdict_comes_first_then_the_price(bench):
    wanted = part("wanted")
    dear, cheap = part("dear"), part("cheap")
    OfferFactory(part=dear, breaks={1: "4.00"})
    OfferFactory(part=cheap, breaks={1: "2.00", 10: "1.50"})
    part("too low", volts=50.0)
    part("more", microfarads=6800.0)
    PartFactory(spec="another class", part_class="fuse", figures={"amps": 2.0})
    found = candidates_for(wanted)
    assert [(str(other), one.verdict.verdict) for other, one in found] == [
        ("cheap", "fits"),
        ("dear", "fits"),
        ("more", "with-care"),
        ("too low", "no"),
    ]


def test_a_spec_that_cannot_be_read_is_left_out(bench):
    wanted = part("wanted")
    part("broken", volts="many")
    PartFactory(spec="empty", part_class="capacitor", figures={})
    assert candidates_for(wanted) == []


def test_values_are_written_down_and_lead_to_the_candidates(buyer):
    wanted = PartFactory(spec="wanted")
    part("the same")
    typed = {
        "part_class": "capacitor",
        "microfarads": "4700",
        "volts": "63,0",
        "dielectric": "electrolytic",
    }
    answer = buyer.post(f"/parts/{wanted.pk}/values/", typed, follow=True)
    page = answer.content.decode()
    wanted.refresh_from_db()
    assert wanted.figures == NEEDED
    assert "Fits:" in page
    assert "every value that is known is met" in page


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"part_class": "capacitor", "volts": "-4"}, "volts is -4 V"),
        ({"part_class": "capacitor", "volts": "many"}, "volts is &#x27;many&#x27;"),
        ({"part_class": "capacitor", "dielectric": "paper"}, "it must be one of"),
        ({"part_class": "chair"}, "part_class is not one of"),
    ],
)
def test_wrong_values_get_a_sentence(buyer, typed, sentence):
    wanted = PartFactory(spec="wanted")
    answer = buyer.post(f"/parts/{wanted.pk}/values/", typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    wanted.refresh_from_db()
    assert wanted.figures == {}


def test_without_values_the_page_says_what_to_do(buyer):
    page = buyer.get(f"/parts/{PartFactory().pk}/substitutes/").content.decode()
    assert "nothing can be compared" in page
    assert buyer.get("/parts/999999/substitutes/").status_code == 404


def test_a_substitute_is_taken_for_the_need_it_was_looked_for(buyer, bench):
    wanted, other = part("wanted"), part("other")
    number = bench.receive()
    need = bench.record(number, "part_needed", spec="wanted", part=wanted.pk).sequence
    page = buyer.get(reverse("need-substitutes", args=[number, need])).content.decode()
    assert f"Use it for job {number}" in page
    buyer.post(reverse("need-part", args=[number, need]), {"part": other.pk})
    assert JobPart.objects.get(job=number).part == other
