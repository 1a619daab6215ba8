"""What to say first stands beside what is to be signed; what is not decided folds under its fact."""

from __future__ import annotations

import re

import pytest

from tests.helpers import amplifier, flat


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def little_known(bench):
    return bench.receive(facts={"unit.kind": "receiver", "complaint.symptoms": ["hum"]})


def page_of(client, number):
    return flat(client.get(f"/jobs/{number}/list/").content.decode())


def test_the_fact_that_takes_most_away_stands_beside_what_is_to_sign(hands, little_known):
    page = page_of(hands, little_known)
    assert "<strong>Next gate, first power:</strong> 10 to sign on 3 cards:" in page
    assert "Rating plate, selector, fuses, adaptor (3)" in page
    asked = page[page.index("Say this first") :]
    assert asked.startswith("Say this first; it takes up to 4 away.")
    assert 'name="name" value="unit.supply"' in asked[: asked.index("</form>")]
    unit = flat(hands.get(f"/jobs/{little_known}/unit/").content.decode())
    worth = unit[unit.index("Worth finding out") :]
    assert 'name="intake.damage"' in worth


def test_an_answer_shortens_the_list(hands, bench, little_known):
    hands.post(f"/jobs/{little_known}/facts/", {"name": "unit.supply", "value": "linear"})
    page = page_of(hands, little_known)
    assert "8 to sign on 3 cards" in page
    assert "Say this first; it takes up to 2 away." in page


def test_the_page_names_what_was_recorded_as_it_asked_for_it(hands, little_known):
    told = {"name": "unit.mains_volts", "value": "230"}
    answer = hands.post(f"/jobs/{little_known}/facts/", told, follow=True)
    assert "Recorded: Mains volts (V)." in answer.content.decode()


def test_a_unit_of_which_all_is_known_is_asked_nothing(hands, bench):
    known = bench.receive(facts=amplifier())
    page = page_of(hands, known)
    assert "4 to sign on 3 cards" in page
    assert "Say this first" not in page


def test_service_steps_fold_under_the_fact_that_decides_them(hands, little_known):
    page = page_of(hands, little_known)
    lists, undecided = page.split("Not decided yet:")
    assert "Oil capacitors" not in lists
    years = undecided[undecided.index("Year built?") :]
    assert "Oil capacitors" in years
    count = re.search(r'Year built\? <span class="count">(\d+) steps', undecided)
    assert int(count[1]) > 5


def test_who_may_not_record_is_not_asked(client, people, little_known):
    client.force_login(people.viewer)
    page = page_of(client, little_known)
    assert "10 to sign on 3 cards" in page
    assert "Say this first" not in page
