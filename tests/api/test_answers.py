"""What a step asks for, and what a signature tells, as JSON."""

from __future__ import annotations

import pytest

from tests.helpers import amplifier

ASKED = "jobs/{}/steps/visual-intake/sign/"


@pytest.fixture
def unseen(api):
    body = {"unit": {"make": "M", "model": "X"}, "facts": amplifier(intake__damage=None)}
    return api.post("jobs/", body)[1]["number"]


def step(api, number, key="visual-intake"):
    steps = api.get(f"jobs/{number}/checklist/")[1]["steps"]
    return next(step for step in steps if step["key"] == key)


def test_the_checklist_says_what_a_step_asks_for(api, unseen):
    [answer] = step(api, unseen)["answers"]
    assert (answer["fact"], answer["kind"]) == ("intake.damage", "list")
    assert answer["one_of"][0] == "none"
    assert step(api, unseen, "fuse-check")["answers"] == []


def test_a_missing_answer_is_422_and_names_the_fact(api, unseen):
    status, answer = api.post(ASKED.format(unseen), {"result": "pass"})
    assert status == 422
    assert [problem["field"] for problem in answer["problems"]] == ["intake.damage"]
    assert step(api, unseen)["state"] == "due"


def test_an_answer_becomes_a_fact_and_the_step_stands(api, unseen):
    body = {"result": "pass", "answers": [{"fact": "intake.damage", "value": ["dented"]}]}
    status, signed = api.post(ASKED.format(unseen), body)
    assert (status, signed["state"], signed["answers"]) == (200, "signed", [])
    assert api.get(f"jobs/{unseen}/")[1]["facts"]["intake.damage"] == ["dented"]
    assert step(api, unseen)["state"] == "signed"


@pytest.mark.parametrize(
    "answers",
    [
        [{"fact": "intake.damage", "value": ["gremlins"]}],
        [{"fact": "unit.year", "value": 1980}],
        [{"fact": "intake.damage"}],
        [{"fact": "intake.damage", "value": ["none"], "sure": True}],
        {"intake.damage": ["none"]},
    ],
)
def test_answers_that_cannot_be_are_422(api, unseen, answers):
    assert api.post(ASKED.format(unseen), {"result": "pass", "answers": answers})[0] == 422
    assert step(api, unseen)["state"] == "due"
