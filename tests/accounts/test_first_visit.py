"""Words for a first visit: there until they are put away, and never in the way of mains off."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.accounts.first_visit import COOKIE, PAGES
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db

TITLES = {page: str(tour.title) for page, tour in PAGES.items()}
BENCH = TITLES["bench"]


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def text(client, path="/"):
    return client.get(path).content.decode()


def test_they_stand_until_they_are_put_away(hands):
    assert BENCH in text(hands)
    answer = hands.post(reverse("tour"), {"page": "bench", "next": "/jobs/"})
    assert answer["Location"] == "/jobs/"
    assert BENCH not in text(hands)
    assert TITLES["receive"] in text(hands, "/receive/")


def test_all_at_once_and_back_again(hands):
    hands.post(reverse("tour"), {"page": "all"})
    assert TITLES["receive"] not in text(hands, "/receive/")
    hands.post(reverse("tour"), {"page": "none"})
    assert BENCH in text(hands)


@pytest.mark.parametrize("name", ["", "nonsense", "../..", "a;b"])
def test_a_page_that_there_is_not_changes_nothing(hands, name):
    hands.post(reverse("tour"), {"page": name})
    assert hands.cookies[COOKIE].value == ""


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "javascript:x", "\\\\evil"]
)
def test_it_leads_nowhere_else(hands, back):
    assert hands.post(reverse("tour"), {"page": "bench", "next": back})["Location"] == "/"


def test_a_cookie_that_somebody_wrote_is_read_for_what_it_names(hands):
    hands.cookies[COOKIE] = "bench.<script>.nonsense"
    page = text(hands)
    assert BENCH not in page
    assert "nonsense" not in page


def test_nothing_stands_above_mains_that_is_on(hands, bench):
    number = bench.receive(facts=amplifier())
    assert TITLES["traveller"] in text(hands, f"/jobs/{number}/")
    bench.limited(number)
    assert TITLES["traveller"] not in text(hands, f"/jobs/{number}/")
    assert BENCH not in text(hands)


def test_every_page_with_words_shows_them(hands, bench):
    number = bench.receive(facts=amplifier())
    places = {
        "bench": "/",
        "receive": "/receive/",
        "backlog": "/backlog/",
        "traveller": f"/jobs/{number}/",
        "soak": f"/jobs/{number}/soak/",
        "estimate": f"/jobs/{number}/estimate/",
        "photos": f"/jobs/{number}/photos/",
    }
    assert places.keys() == PAGES.keys()
    for page, path in places.items():
        assert TITLES[page] in text(hands, path)
