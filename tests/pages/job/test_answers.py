"""The form of a step has a place for each answer that a pass needs."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from tests.helpers import amplifier, flat


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def unseen(bench):
    return bench.receive(facts=amplifier(intake__damage=None))


def look(hands, number, **more):
    path = reverse("sign", args=[number, "visual-intake"])
    return hands.post(path, {"step": "visual-intake", "result": "pass", **more})


def ticks(page):
    """The words that are ticked in the first form of the page that asks for damage."""
    boxes = re.findall(
        r'<input type="checkbox" name="answer-intake.damage" value="(\S+)"([^>]*)>', page
    )
    return [word for word, more in boxes if "checked" in more], [word for word, _ in boxes]


def test_the_form_asks_and_an_answered_one_does_not(hands, unseen):
    step = reverse("step", args=[unseen, "visual-intake"])
    page = hands.get(step).content.decode()
    ticked, offered = ticks(page)
    assert (ticked, offered[:2]) == ([], ["none", "dented"])
    look(hands, unseen, **{"answer-intake.damage": ["none"]})
    assert "answer-intake.damage" not in hands.get(step).content.decode()


def test_several_ticks_are_one_answer_without_javascript(hands, bench, unseen):
    answer = look(hands, unseen, **{"answer-intake.damage": ["dented", "liquid"]})
    assert answer.status_code == 302
    assert bench.traveller(unseen).record.facts["intake.damage"] == ["dented", "liquid"]
    assert bench.state(unseen, "visual-intake") == "signed"


def test_an_empty_answer_is_named_and_what_was_typed_is_kept(hands, bench, unseen):
    answer = look(hands, unseen, note="corner bent")
    text = flat(answer.content.decode())
    assert answer.status_code == 422
    assert "Damage at intake is missing" in text
    assert "corner bent" in text
    assert bench.state(unseen, "visual-intake") == "due"


def test_ticks_are_kept_on_a_refusal(hands, bench, unseen):
    answer = look(hands, unseen, **{"answer-intake.damage": ["dented"], "reading-volts": "3"})
    assert answer.status_code == 422
    assert set(ticks(answer.content.decode())[0]) == {"dented"}
    assert "intake.damage" not in bench.traveller(unseen).record.facts


def test_a_failed_step_asks_for_nothing(hands, bench, unseen):
    assert look(hands, unseen, result="fail").status_code == 302
    assert bench.state(unseen, "visual-intake") == "failed"
