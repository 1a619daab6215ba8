"""The page of all rules: words and gates leave the steps that fit, names in files on request."""

from __future__ import annotations

import sys

import pytest

from checklists.engine import smt

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(client, people):
    client.force_login(people.viewer)
    return lambda query="", **headers: client.get(
        f"/rules/{query}", headers=headers
    ).content.decode()


def test_words_leave_the_steps_that_have_them(page):
    whole, found = page(), page("?q=discharge reservoirs")
    assert "/rules/discharge-reservoirs/" in found
    assert "/rules/fuse-check/" in whole
    assert "/rules/fuse-check/" not in found
    assert "No step has these words" in page("?q=zzzz")


def test_a_gate_leaves_its_steps_and_says_what_it_is(page):
    found = page("?gate=first-power")
    assert "/rules/fuse-check/" in found
    assert "/rules/discharge-reservoirs/" not in found
    assert "/rules/fuse-check/" in page("?gate=nonsense")


def test_names_in_files_stand_there_when_asked_for(page):
    assert "<code>fuse-check</code>" not in page()
    assert "<code>fuse-check</code>" in page("?keys=yes")


def test_typing_asks_for_the_steps_alone(page):
    assert "<html" not in page("?q=fuse", **{"HX-Request": "true"})


def test_why_a_step_is_there_is_told_with_the_facts_of_the_unit(client, people, bench):
    client.force_login(people.viewer)
    number = bench.receive(facts={"unit.rail_volts": 42.0})
    page = client.get(f"/jobs/{number}/why/?step=discharge-reservoirs").content.decode()
    assert "A rail of 42 V" in page
    assert "[rail volts]" not in page


def test_without_the_solver_the_page_tells_the_rules(client, people, bench, monkeypatch):
    monkeypatch.setitem(sys.modules, "z3", None)
    monkeypatch.setattr(smt.z3, "__dict__", {})
    client.force_login(people.viewer)
    page = client.get(f"/jobs/{bench.receive()}/why/?step=hot-chassis")
    assert page.status_code == 200
    assert "The step in the rules" in page.content.decode()
