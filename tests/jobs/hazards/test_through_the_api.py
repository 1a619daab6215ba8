"""The same refusals as JSON: 409 with a reason and the holds in the way."""

from __future__ import annotations

import pytest

from tests.api.conftest import caller_for
from tests.jobs.hazards.units import class_ab, valve_combo


@pytest.fixture
def api(people, clock):
    return caller_for(people.technician)


@pytest.fixture
def combo(hands):
    return hands.receive(facts=valve_combo(), make="Test Works", model="M", serial="C7")


def work(api, number, kind, **marks):
    body = {"kind": "work_done", "data": {"work": kind, **marks}}
    return api.post(f"jobs/{number}/ledger/", body)


def sign(api, number, key, *readings):
    measured = [{"quantity": quantity, "value": value} for quantity, value in readings]
    body = {"result": "pass", "readings": measured}
    return api.post(f"jobs/{number}/steps/{key}/sign/", body)


def test_a_hand_in_a_recharged_unit_is_409_with_the_dead_test(hands, api, combo):
    hands.after_mains(combo)
    status, answer = work(api, combo, "relay-cleaned")
    assert status == 409
    assert answer["reason"]
    assert "verify-dead" in {one["key"] for one in answer["unmet"]}


def test_work_in_a_closed_unit_is_409(api, combo):
    status, answer = work(api, combo, "output-devices-replaced")
    assert status == 409
    assert answer["reason"]
    assert "unmet" in answer


def test_work_from_outside_is_201(api, combo):
    status, answer = work(api, combo, "fuse-replaced", from_outside=True)
    assert status == 201, answer


def test_a_step_in_the_wrong_state_is_409(hands, api, combo):
    hands.sign_all(combo, without=("verify-dead",))
    status, answer = sign(api, combo, "verify-dead", ("highest_volts", 1.0))
    assert status == 409
    assert answer["reason"]
    assert "unmet" in answer


def test_a_reading_of_minus_400_volts_fails(hands, api, combo):
    hands.opened(combo)
    status, answer = sign(api, combo, "verify-dead", ("highest_volts", -400.0))
    assert (status, answer["state"]) == (200, "failed")


def test_a_grave_finding_under_mains_is_201_and_mains_is_off(hands, api, combo):
    hands.on_limiter(combo)
    body = {"kind": "finding_recorded", "data": {"finding": "insulator-cracked"}}
    assert api.post(f"jobs/{combo}/ledger/", body)[0] == 201
    assert api.get(f"jobs/{combo}/")[1]["power"] == "isolated"
    assert work(api, combo, "joints-reflowed")[0] == 409


def test_a_second_open_job_of_one_unit_is_409_and_names_the_first(api, combo):
    unit = {"make": "Test Works", "model": "M", "serial": "C7"}
    status, answer = api.post("jobs/", {"unit": unit, "facts": class_ab()})
    assert status == 409
    assert str(combo) in answer["reason"]


def test_an_entry_is_withdrawn(hands, api, combo):
    row = hands.record(combo, "finding_recorded", finding="dust-heavy")
    data = {"row": row.sequence, "reason": "wrong unit"}
    status, answer = api.post(f"jobs/{combo}/ledger/", {"kind": "entry_withdrawn", "data": data})
    assert status == 201, answer
