"""What is too much is refused with a short sentence, at once."""

from __future__ import annotations

import json

import pytest

from tests.api.conftest import caller_for

SHORTEST_LIMIT = 2_000
DIGITS = "9" * 5000
SIGN = "jobs/{n}/steps/earth-continuity/sign/"
ROWS = "jobs/{n}/ledger/"


def test_two_hundred_readings_are_enough(api, number):
    readings = [{"quantity": "earth_ohms", "value": 0.1}] * 300_000
    body = {"result": "pass", "readings": readings}
    status, answer = api.post(f"jobs/{number}/steps/earth-continuity/sign/", body)
    assert status == 422
    assert answer["reason"] == "readings is too long; at most 200 are taken."


def test_facts_that_nobody_knows_are_named_up_to_twenty(api):
    facts = {f"unit.word{n}": n for n in range(20_000)}
    status, answer = api.post("jobs/", {"unit": {"make": "Own", "model": "1"}, "facts": facts})
    assert status == 422
    assert "And 19980 more." in answer["reason"]
    assert len(str(answer)) < 20_000


def many(count=400_000):
    return {f"word{n}": n for n in range(count)}


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("jobs/", {"unit": {}, "facts": many()}),
        ("jobs/", {"unit": many()}),
        (ROWS, {"kind": "note_added", "data": many()}),
        ("jobs/{n}/power/", many()),
        ("backlog/orders/1/arrived/", {"lines": many()}),
    ],
)
def test_an_object_of_four_hundred_thousand_names_is_not_looked_at(api, number, path, body):
    status, answer = api.post(path.format(n=number), body)
    thin = "\u202f"
    words = f"An object of the body has 400{thin}000 names; at most 20{thin}000 are read."
    assert (status, answer) == (422, {"reason": words})


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("jobs/", {"unit": many(5_000)}),
        (ROWS, {"kind": "note_added", "data": many(5_000)}),
        (SIGN, {"result": "pass", "answers": [{"fact": "f", "value": 1}] * 200}),
        (SIGN, {"result": "pass", "readings": [{"quantity": "q", "value": 1, "z": 1}] * 200}),
    ],
)
def test_of_many_faults_twenty_are_named(api, number, path, body):
    status, answer = api.post(path.format(n=number), body)
    assert (status, len(answer["problems"])) == (422, 21)
    assert answer["problems"][-1]["sentence"].startswith("And ")
    assert answer["reason"].endswith(" more.")


@pytest.mark.parametrize(
    ("path", "raw", "words"),
    [
        ("jobs/", "[" * 100_000 + "]" * 100_000, "nested too deeply"),
        (ROWS, '{"a":' * 5_000 + "1" + "}" * 5_000, "nested too deeply"),
        ("jobs/", f'{{"unit": {{}}, "facts": {{"unit.year": {DIGITS}}}}}', "4,300 digits"),
        (SIGN, f'{{"result": "pass", "seen": {DIGITS}}}', "4,300 digits"),
        ("jobs/", f'{{"unit": {{}}, "facts": {{"unit.year": {DIGITS[:4000]}}}}}', "unit.year is"),
        ("jobs/{n}/join/", f'{{"into": {DIGITS[:4000]}}}', "into is"),
        ("jobs/", '{"unit": {}', "not readable as JSON"),
    ],
)
def test_what_no_field_takes_is_a_short_sentence(api, number, path, raw, words):
    status, answer = api.post(path.format(n=number), raw=raw.encode())
    assert status == 422
    assert words in answer["reason"]
    assert len(json.dumps(answer)) < SHORTEST_LIMIT


LONG = "k" * 3_000_000
TWO = {"result": "pass", "readings": [{"quantity": LONG, "value": 1}]}


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("jobs/", {"unit": {}, LONG: 1}),
        ("jobs/", {"unit": {"make": LONG}}),
        ("jobs/", {"unit": {}, "facts": {LONG: 1}}),
        ("jobs/", {"unit": {}, "owner": {"name": LONG, "email": LONG}}),
        (ROWS, {"kind": LONG, "data": {}}),
        (ROWS, {"kind": "note_added", "data": {LONG: 1}}),
        (ROWS, {"kind": "fact_recorded", "data": {"name": LONG, "value": 1}}),
        ("jobs/{n}/power/", {"to": LONG}),
        (SIGN, TWO),
        (SIGN, {"result": LONG}),
    ],
)
def test_a_name_of_three_megabytes_is_not_sent_back(api, number, path, body):
    status, answer = api.post(path.format(n=number), body)
    assert status == 422
    assert len(json.dumps(answer)) < SHORTEST_LIMIT


def test_a_job_number_of_four_thousand_digits_is_short_too(api):
    status, answer = api.get(f"jobs/{DIGITS[:4000]}/")
    assert status == 404
    assert len(answer["reason"]) < 200


def test_settings_that_are_none_are_named_up_to_twenty(people):
    status, answer = caller_for(people.owner).patch("settings/", dict.fromkeys(many(5_000), "x"))
    assert (status, len(answer["problems"])) == (422, 21)


def test_an_order_has_a_thousand_lines_at_most(people):
    lines = [{"part": "x"}] * 100_000
    status, answer = caller_for(people.owner).post(
        "backlog/orders/", {"supplier": 1, "lines": lines}
    )
    assert (status, answer["reason"]) == (422, "lines is too long; at most 1000 are taken.")
