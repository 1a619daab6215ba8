"""The last kind and section are offered again; a measured value never is."""

from __future__ import annotations

import re

import pytest

from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def chosen(page):
    """The section that is ticked; None where another one is typed."""
    ticked = re.findall(r'name="section" value="([^"]*)"\s*checked', page)
    return ticked[0] if ticked else None


@pytest.mark.parametrize(
    ("kind", "data", "said"),
    [
        ("finding_recorded", {"finding": "joint-cracked", "section": "supply"}, "joint cracked"),
        ("suspect_changed", {"suspect": "relay", "change": "raised", "section": "supply"}, "relay"),
    ],
)
def test_the_last_of_its_sort_is_offered_again(hands, bench, kind, data, said):
    number = bench.receive(facts=amplifier())
    bench.record(number, kind, **data)
    page = hands.get(f"/jobs/{number}/write/").content.decode()
    assert f"again: {said}, supply" in " ".join(page.split())
    form = hands.get(f"/jobs/{number}/write/?what={kind}&again=yes").content.decode()
    assert chosen(form) == "supply"


def test_a_reading_of_the_soak_repeats_its_quantity_and_not_its_value(hands, bench):
    number = bench.receive(facts=amplifier())
    bench.soak(number)
    bench.record(number, "soak_started")
    bench.record(number, "soak_reading", quantity="sink_celsius", value=41.5, unit="C")
    page = hands.get(f"/jobs/{number}/soak/").content.decode()
    assert '<option value="sink_celsius" selected' in page
    assert "41.5" not in page.split("A reading</h2>")[1].split("</form>")[0]


def test_a_link_of_the_card_names_the_kind_and_nothing_that_is_measured(hands, bench):
    number = bench.receive(facts=amplifier())
    address = f"/jobs/{number}/write/?what=work_done&work=joints-reflowed&minutes=90"
    form = hands.get(address).content.decode()
    assert '<option value="joints-reflowed" selected' in form
    assert "90" not in form.split('name="minutes"')[1].split(">")[0]


def test_work_is_where_the_last_finding_was_and_a_finding_is_anywhere(hands, bench):
    number = bench.receive(facts=amplifier())
    work, finding = (
        f"/jobs/{number}/write/?what={kind}" for kind in ("work_done", "finding_recorded")
    )
    assert chosen(hands.get(work).content.decode()) == ""
    bench.record(number, "finding_recorded", finding="joint-cracked", section="supply")
    assert chosen(hands.get(work).content.decode()) == "supply"
    assert chosen(hands.get(finding).content.decode()) == ""


def test_a_section_is_tapped_or_typed_and_what_is_typed_counts(hands, bench):
    number = bench.receive(facts=amplifier())
    for given, kept in ((["supply", ""], "supply"), (["supply", "tone board"], "tone-board")):
        entry = {"finding": "joint-cracked", "section": given}
        hands.post(f"/jobs/{number}/record/finding_recorded/", entry)
        row = bench.traveller(number).record.of_type("finding_recorded")[-1]
        assert row.data["section"] == kept
    again = f"/jobs/{number}/write/?what=finding_recorded&again=yes"
    page = hands.get(again).content.decode()
    assert 'name="section"\n         value="tone-board"' in page
    assert chosen(page) is None


def test_a_section_that_nobody_says_is_empty(hands, bench):
    number = bench.receive(facts=amplifier())
    entry = {"finding": "joint-cracked", "section": ["", ""]}
    hands.post(f"/jobs/{number}/record/finding_recorded/", entry)
    row = bench.traveller(number).record.of_type("finding_recorded")[-1]
    assert row.data.get("section", "") == ""
