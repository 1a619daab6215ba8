"""What is too much is refused with a short sentence, at once."""

from __future__ import annotations


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
