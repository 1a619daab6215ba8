"""A card shows the findings and the work that are usual for the unit; the others are a fold away."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from checklists.engine.vocabulary import FINDINGS, WORK
from checklists.engine.words import COVER_OFF, HANDS
from tests.helpers import Bench, amplifier


def cassette_deck():
    return {
        "unit.kind": "cassette-deck",
        "unit.supply": "linear",
        "unit.protective_class": "II",
        "unit.output_stage": "none",
    }


def card(client, bench, facts):
    number = bench.receive(facts=facts)
    bench.stage(number, "reproducing")
    bench.clear(number, COVER_OFF)
    bench.stage(number, "opened")
    bench.cover(number, "off")
    bench.clear(number, HANDS)
    return number, client.get(reverse("job", args=[number])).content.decode()


def words(page, name):
    return re.findall(rf"what=\w+&amp;{name}=([a-z-]+)", page)


def parts(page, name="finding"):
    at_once, _, folded = page.partition("Something else")
    return words(at_once, name), words(folded, name)


@pytest.fixture
def bench(people, client):
    client.force_login(people.technician)
    return Bench(people.technician)


def test_every_finding_is_there_once(client, bench):
    _, page = card(client, bench, amplifier())
    at_once, folded = parts(page)
    assert sorted({*at_once, *folded}) == sorted(FINDINGS)
    assert not {*at_once} & {*folded}
    assert len(set(at_once)) <= 20
    assert "Nothing more to be found" in page


@pytest.mark.parametrize(
    ("facts", "shown", "not_shown"),
    [
        (amplifier, "output-device-shorted", "belt-perished"),
        (cassette_deck, "belt-perished", "output-device-shorted"),
        (cassette_deck, "mechanism-worn", "laser-weak"),
    ],
)
def test_what_such_a_unit_does_not_have_is_folded(client, bench, facts, shown, not_shown):
    at_once, folded = parts(card(client, bench, facts())[1])
    assert shown in at_once
    assert not_shown in folded


@pytest.mark.parametrize("facts", [amplifier, cassette_deck])
@pytest.mark.parametrize("word", ["earth-defeated", "fuse-wrong", "mains-lead-damaged"])
def test_what_can_hurt_is_always_in_sight(client, bench, facts, word):
    at_once, folded = parts(card(client, bench, facts())[1])
    assert word in at_once
    assert "dust-heavy" in folded


def test_work_that_asks_for_the_electrical_test_again_is_in_sight(client, bench):
    number, _ = card(client, bench, amplifier())
    bench.record(number, "finding_recorded", finding="joint-cracked")
    bench.record(number, "round_finished", round="look")
    at_once, folded = parts(client.get(reverse("job", args=[number])).content.decode(), "work")
    assert "mains-wiring-changed" in at_once
    assert "laser-replaced" in folded


def test_what_was_found_brings_the_work_that_mends_it(client, bench):
    number, page = card(client, bench, amplifier())
    bench.record(number, "finding_recorded", finding="lithium-cell-leaking", section="clock")
    bench.record(number, "round_finished", round="look")
    page = client.get(reverse("job", args=[number])).content.decode()
    at_once, folded = parts(page, "work")
    assert "lithium-cell-replaced" in at_once
    assert "nickel-cell-replaced" in folded
    assert sorted({*at_once, *folded}) == sorted(WORK)
