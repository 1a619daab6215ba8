"""One open job per unit, corrections and joins through the API."""

from __future__ import annotations

import pytest

from shop.jobs.models import Job
from tests.api.conftest import caller_for
from tests.helpers import amplifier

UNIT = {"make": "Corvenby", "model": "C 4", "serial": "K-77"}


@pytest.fixture
def number(api):
    return api.post("jobs/", {"unit": UNIT, "facts": amplifier()})[1]["number"]


def test_a_second_intake_is_409_and_names_the_job(api, number):
    status, answer = api.post("jobs/", {"unit": UNIT | {"serial": "k77"}})
    assert (status, answer["codes"], answer["unmet"]) == (409, ["already-here"], [])
    assert f"job {number} is open" in answer["reason"]


def test_a_second_intake_joins(api, number):
    body = {"unit": UNIT, "join": True, "complaint": {"text": "now it crackles"}}
    status, job = api.post("jobs/", body)
    assert (status, job["number"]) == (201, number)
    assert job["complaint"]["text"] == "now it crackles"


def test_a_unit_arrives_open(api):
    status, job = api.post("jobs/", {"unit": UNIT, "arrived_open": True})
    assert (status, job["cover"]) == (201, "off")


@pytest.mark.parametrize("field", ["join", "arrived_open"])
def test_a_flag_that_is_none_is_named(api, field):
    status, answer = api.post("jobs/", {"unit": UNIT, field: "perhaps"})
    assert (status, answer["problems"][0]["field"]) == (422, field)


def test_an_intake_is_corrected_and_what_is_left_out_stays(api, number):
    body = {
        "unit": {"model": "C 5"},
        "customer": {"name": "Ada", "email": ""},
        "arrival": {"came_by": "parcel"},
    }
    status, job = api.patch(f"jobs/{number}/intake/", body)
    assert (status, job["unit"]) == (200, UNIT | {"model": "C 5"})
    intake = Job.objects.get(pk=number).intake
    assert (str(intake.customer), intake.came_by) == ("Ada", "parcel")
    row = api.get(f"jobs/{number}/ledger/")[1][-1]
    assert row["kind"] == "intake_corrected"
    assert row["data"]["changes"]["model"] == {"from": "C 4", "to": "C 5"}


def test_a_correction_to_a_unit_that_is_here_is_409(api, number):
    other = api.post("jobs/", {"unit": UNIT | {"serial": ""}})[1]["number"]
    status, answer = api.patch(f"jobs/{other}/intake/", {"unit": {"serial": "K 77"}})
    assert (status, answer["codes"]) == (409, ["already-here"])


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"unit": {"colour": "red"}}, "unit.colour"),
        ({"unit": {"serial": "x" * 121}}, "serial"),
        ({"arrival": {"parcel": "blue"}}, "arrival.parcel"),
        ({"customer": {"email": "nowhere"}}, "customer.email"),
    ],
)
def test_a_correction_that_cannot_be_is_422(api, number, body, field):
    status, answer = api.patch(f"jobs/{number}/intake/", body)
    assert (status, answer["problems"][0]["field"]) == (422, field)
    assert Job.objects.get(pk=number).unit.serial == "K-77"


def test_two_jobs_of_one_unit_are_joined(api, number):
    other = api.post("jobs/", {"unit": UNIT | {"serial": "K-78"}})[1]["number"]
    path = f"jobs/{other}/join/"
    status, answer = api.post(path, {"into": number})
    assert (status, answer["codes"]) == (409, ["another-unit"])
    Job.objects.filter(pk=other).update(unit=Job.objects.get(pk=number).unit_id)
    status, job = api.post(path, {"into": number})
    assert (status, job["number"], job["stage"]) == (200, number, "received")
    assert api.get(f"jobs/{other}/")[1]["stage"] == "withdrawn"


def test_a_job_that_is_not_there_is_404(api, number):
    assert api.post(f"jobs/{number}/join/", {"into": 999})[0] == 404
    assert api.patch("jobs/999/intake/", {})[0] == 404


def test_the_wrong_role_is_403(people, api, number):
    viewer, desk = caller_for(people.viewer), caller_for(people.desk)
    assert viewer.patch(f"jobs/{number}/intake/", {"unit": {"make": "X"}})[0] == 403
    assert desk.patch(f"jobs/{number}/intake/", {"unit": {"make": "X"}})[0] == 200
    other = api.post("jobs/", {"unit": UNIT})[1]["number"]
    assert desk.post(f"jobs/{number}/join/", {"into": other})[0] == 403
