from __future__ import annotations

import json
from datetime import timedelta
from itertools import pairwise

import pytest
import time_machine
from django.utils import timezone

from shop.jobs.models import Job
from tests.api.conftest import Caller, caller_for


def in_limits(step):
    found = []
    for reading in step["readings"]:
        low, high = reading["min"], reading["max"]
        value = low + 1 if high is None and low is not None else high
        value = (low + high) / 2 if low is not None and high is not None else value
        found.append({"quantity": reading["quantity"], "value": 1.0 if value is None else value})
    return found


def sign(api, number, *keys):
    _, checklist = api.get(f"jobs/{number}/checklist/")
    for step in checklist["steps"]:
        if step["key"] in keys:
            status, signed = api.post(
                f"jobs/{number}/steps/{step['key']}/sign/",
                {"result": "pass", "readings": in_limits(step)},
            )
            assert status == 200, signed
            assert signed["state"] == "signed"


def sign_gate(api, number, gate):
    _, checklist = api.get(f"jobs/{number}/checklist/")
    steps = [s for s in checklist["steps"] if s["hold"] and s["gate"] == gate]
    sign(api, number, *(s["key"] for s in steps if s["state"] not in ("signed", "waived")))


def move(api, number, what, to):
    """Move after signing what is in the way."""
    status, answer = api.post(f"jobs/{number}/{what}/", {"to": to})
    if status == 409:
        sign(api, number, *(u["key"] for u in answer["unmet"]))
        status, answer = api.post(f"jobs/{number}/{what}/", {"to": to})
    assert status == 200, answer
    return answer


def test_a_job_is_received_listed_and_looked_at(api):
    status, job = api.post(
        "jobs/",
        {
            "unit": {"make": "Ravelund", "model": "Thatch", "serial": "7"},
            "facts": {"unit.kind": "instrument-combo", "unit.rail_volts": 420},
            "complaint": {"text": "brummt"},
            "owner": {"name": "Mirela", "email": "mirela@example.org"},
        },
    )

    assert status == 201
    assert (job["stage"], job["power"], job["cover"]) == ("received", "isolated", "on")
    assert job["waiting_on"] == "hands"
    assert job["complaint"] == {"text": "brummt"}
    assert api.get(f"jobs/{job['number']}/")[1]["unit"]["serial"] == "7"
    assert [j["number"] for j in api.get("jobs/", stage="received")[1]] == [job["number"]]
    assert api.get("jobs/", stage="opened")[1] == []
    assert api.get("jobs/", power="isolated", waiting_on="hands")[1] != []
    assert api.get("jobs/", stage="", power="", waiting_on="")[1] != []


def test_the_customer_stays_out_of_the_ledger(api):
    _, job = api.post("jobs/", {"unit": {"make": "M"}, "owner": {"name": "Mirela Dobson"}})
    _, rows = api.get(f"jobs/{job['number']}/ledger/")
    assert "Mirela" not in json.dumps(rows)
    assert Job.objects.get(pk=job["number"]).intake.customer.name == "Mirela Dobson"


def test_the_checklist_explains_itself(api, number):
    status, checklist = api.get(f"jobs/{number}/checklist/")
    assert status == 200
    by_key = {step["key"]: step for step in checklist["steps"]}
    step = by_key["discharge-reservoirs"]
    assert (step["gate"], step["hold"], step["state"]) == ("hands-in", True, "due")
    assert step["caution"]["signal_word"] == "DANGER"
    assert step["because"][0]["facts"] == {"unit.rail_volts": 75.0}
    assert step["plan"]["result"]["energy_j"] == pytest.approx(28.125)
    assert "power_applied" in step["ended_by"]
    assert "earth-continuity" in by_key
    assert "hot-chassis" not in by_key


def test_the_whole_way_through_the_api(api, number):
    def post(path, **body):
        status, answer = api.post(f"jobs/{number}/{path}", body)
        assert status in (200, 201), answer
        return answer

    status, refused = api.post(f"jobs/{number}/power/", {"to": "limited"})
    assert status == 409
    assert {u["key"] for u in refused["unmet"]} >= {"visual-intake", "fuse-check"}
    assert all(set(u) == {"key", "title", "state", "why"} for u in refused["unmet"])

    sign_gate(api, number, "first-power")
    assert post("power/", to="limited")["power"] == "limited"
    post("stage/", to="reproducing")
    post("ledger/", kind="trial_run", data={"conditions": ["cold"], "fault": True})
    assert post("power/", to="isolated")["power"] == "isolated"
    sign_gate(api, number, "open-up")
    post("stage/", to="opened")
    assert post("cover/", to="off")["cover"] == "off"
    sign_gate(api, number, "hands-in")
    post("ledger/", kind="finding_recorded", data={"finding": "compound-dry", "section": "left"})
    need = post("ledger/", kind="part_needed", data={"spec": "pad TO-3P", "required": True})
    assert post("stage/", to="awaiting_parts")["waiting_on"] == "parts"
    backlog = api.get("backlog/parts/")[1]
    assert [(p["job"], p["spec"], p["need"]) for p in backlog] == [
        (number, "pad TO-3P", need["sequence"])
    ]
    post("ledger/", kind="part_arrived", data={})
    assert api.get("backlog/parts/")[1] == []
    post("stage/", to="opened")
    post("ledger/", kind="part_fitted", data={"spec": "pad TO-3P"})
    post(
        "ledger/",
        kind="work_done",
        data={"work": "thermal-interface-renewed", "section": "left", "minutes": 30, "note": ""},
    )
    steps = {s["key"] for s in api.get(f"jobs/{number}/checklist/")[1]["steps"]}
    assert {"insulator-isolation", "bias-to-minimum", "bias-set-hot"} <= steps
    sign(api, number, "compound-renewed")
    sign_gate(api, number, "limited-power")
    post("cover/", to="on")
    post("stage/", to="reassembled")
    move(api, number, "power", "limited")
    assert move(api, number, "power", "full")["power"] == "full"
    post("power/", to="isolated")
    sign(api, number, "earth-continuity", "insulation-resistance")
    assert post("power/", to="full")["power"] == "full"
    move(api, number, "stage", "soaking")
    post("ledger/", kind="soak_started", data={})
    post("ledger/", kind="soak_reading", data={"quantity": "sink", "value": 51.5})
    with time_machine.travel(timezone.now() + timedelta(hours=9)):
        leave_after_the_soak(api, number, post)

    rows = api.get(f"jobs/{number}/ledger/")[1]
    assert [row["sequence"] for row in rows] == list(range(1, len(rows) + 1))
    assert all(b["previous"] == a["hash"] for a, b in pairwise(rows))


def leave_after_the_soak(api, number, post):
    post("ledger/", kind="soak_ended", data={})
    sign(api, number, "soak-run")
    post("power/", to="isolated")
    sign(api, number, "covers-and-labels")
    assert post("power/", to="full")["power"] == "full"
    sign(api, number, "full-function")
    status, refused = api.post(f"jobs/{number}/stage/", {"to": "released"})
    assert (status, refused["codes"]) == (409, ["energised"])
    post("power/", to="isolated")
    assert post("stage/", to="released")["stage"] == "released"


def test_the_job_says_which_hazards_are_up(api, number):
    def up():
        return {one["key"]: one for one in api.get(f"jobs/{number}/")[1]["hazards"]}

    before = up()
    assert before["plugged-in"] == {
        "key": "plugged-in",
        "title": "The plug may be in",
        "meets": ["cover-off"],
    }
    assert "hands" in before["dead-not-proved"]["meets"]
    assert "live-chassis" not in before
    sign(api, number, "unplugged-lead-in-sight")
    assert set(before) - set(up()) == {"plugged-in"}


def test_a_reading_outside_turns_pass_into_fail(api, number):
    body = {"result": "pass", "readings": [{"quantity": "earth_ohms", "value": 0.9}]}
    status, step = api.post(f"jobs/{number}/steps/earth-continuity/sign/", body)
    assert (status, step["state"]) == (200, "failed")


BAD = [
    ("jobs/", [], "body"),
    ("jobs/", {"unit": "amp"}, "unit"),
    ("jobs/", {"unit": {"make": 3}}, "unit.make"),
    ("jobs/", {"unit": {"colour": "red"}}, "unit.colour"),
    ("jobs/", {"facts": {}}, "unit"),
    ("jobs/", {"unit": {}, "facts": {"unit.kind": "toaster"}}, "unit.kind"),
    ("jobs/", {"unit": {}, "facts": {"nonsense": 1}}, "nonsense"),
    ("jobs/", {"unit": {}, "facts": {"job.stage": "opened"}}, "job.stage"),
    ("jobs/", {"unit": {}, "facts": [1]}, "facts"),
    ("jobs/", {"unit": {}, "complaint": {"text": "x" * 20_001}}, "complaint"),
    ("jobs/", {"unit": {}, "complaint": {"text": "a\x00"}}, "complaint"),
    ("jobs/", {"unit": {"make": "x" * 500}}, "make"),
    ("jobs/", {"unit": {}, "owner": {"email": "nowhere"}}, "customer.email"),
    ("jobs/{n}/power/", {}, "to"),
    ("jobs/{n}/power/", {"to": "on"}, "to"),
    ("jobs/{n}/power/", {"to": None}, "to"),
    ("jobs/{n}/power/", {"to": "limited", "force": True}, "force"),
    ("jobs/{n}/cover/", {"to": "ajar"}, "to"),
    ("jobs/{n}/stage/", {"to": "fixed"}, "to"),
    ("jobs/{n}/ledger/", {"kind": "lunch", "data": {}}, "kind"),
    ("jobs/{n}/ledger/", {"kind": "note_added", "data": {}}, "text"),
    ("jobs/{n}/ledger/", {"kind": "note_added", "data": []}, "data"),
    ("jobs/{n}/ledger/", {"kind": "finding_recorded", "data": {"finding": "x"}}, "finding"),
    ("jobs/{n}/ledger/", {"kind": "power_applied", "data": {}}, "kind"),
    ("jobs/{n}/steps/fuse-check/sign/", {"result": "ok"}, "result"),
    ("jobs/{n}/steps/fuse-check/sign/", {}, "result"),
    ("jobs/{n}/steps/earth-continuity/sign/", {"result": "pass"}, "earth_ohms"),
    (
        "jobs/{n}/steps/earth-continuity/sign/",
        {"result": "pass", "readings": [{"quantity": "earth_ohms", "value": "low"}]},
        "earth_ohms",
    ),
    (
        "jobs/{n}/steps/earth-continuity/sign/",
        {"result": "pass", "readings": [{"quantity": "volts", "value": 1}]},
        "volts",
    ),
    ("jobs/{n}/steps/reproduce-complaint/sign/", {"result": "not-applicable"}, "note"),
]


@pytest.mark.parametrize(("path", "body", "field"), BAD)
def test_bad_input_is_422_and_names_the_culprit(api, number, path, body, field):
    status, answer = api.post(path.format(n=number), body)
    assert status == 422, answer
    assert field in [problem["field"] for problem in answer["problems"]]
    assert field.split(".")[-1] in answer["reason"] or field == "body"
    assert answer["reason"].endswith(".")


RAW = [
    b"",
    b"{",
    b"nonsense",
    b"\xff\xfe\x00",
    b"[" * 100_000,
    b'{"unit": {"make": "\\ud800"}}',
    b'{"unit": {}, "facts": {"unit.rail_volts": NaN}}',
    b'{"unit": {}, "facts": {"unit.rail_volts": 1e999}}',
    b'{"unit": {}, "facts": {"unit.year": ' + b"9" * 5000 + b"}}",
    b'{"unit": {}, "complaint": {"text": "' + b"x" * 10_000_000 + b'"}}',
    b"null",
    b'"text"',
]


@pytest.mark.parametrize("raw", RAW, ids=lambda raw: repr(raw[:20]))
def test_a_body_that_is_no_sensible_json_is_422(api, raw):
    status, answer = api.post("jobs/", raw=raw)
    assert status == 422, answer
    assert answer["reason"]
    assert len(answer["reason"]) < 2000
    assert not Job.objects.exists()


def test_ten_megabytes_of_text_get_a_sentence_with_both_lengths(api, number):
    body = {"kind": "note_added", "data": {"text": "x" * 10_000_000}}
    status, answer = api.post(f"jobs/{number}/ledger/", body)
    assert status == 422
    assert (
        answer["reason"]
        == "text has 10\u202f000\u202f000 characters; at most 20\u202f000 are kept."
    )


@pytest.mark.parametrize("query", [{"stage": "fixed"}, {"power": "x"}, {"waiting_on": "godot"}])
def test_an_unknown_filter_is_422(api, query):
    status, answer = api.get("jobs/", **query)
    assert status == 422
    assert next(iter(query)) in answer["reason"]


@pytest.mark.parametrize("bad", ["0", "999", str(2**63), "9" * 40])
def test_a_job_that_is_not_there_is_404(api, number, bad):
    gets = [f"jobs/{bad}/", f"jobs/{bad}/checklist/", f"jobs/{bad}/ledger/"]
    posts = {
        f"jobs/{bad}/power/": {"to": "isolated"},
        f"jobs/{bad}/cover/": {"to": "on"},
        f"jobs/{bad}/stage/": {"to": "opened"},
        f"jobs/{bad}/ledger/": {"kind": "note_added", "data": {"text": "x"}},
        f"jobs/{bad}/steps/fuse-check/sign/": {"result": "pass"},
        f"jobs/{bad}/steps/fuse-check/waive/": {"reason": "x"},
    }
    answers = [api.get(path) for path in gets] + [api.post(p, b) for p, b in posts.items()]
    for status, answer in answers:
        assert status == 404
        assert f"There is no job {int(bad)}." == answer["reason"]


def test_an_address_that_is_not_there_is_404_with_a_sentence(api, number):
    assert api.get("nonsense/") == (404, {"reason": "There is nothing at '/api/v1/nonsense/'."})
    status, answer = api.post("jobs", {"unit": {}})
    assert (status, "end with a slash" in answer["reason"]) == (404, True)
    assert api.get("jobs/x/")[0] == 404


def test_a_wrong_verb_is_405_with_the_right_one(api, number):
    answer = api.client.delete(f"/api/v1/jobs/{number}/", headers=api.headers)
    assert answer.status_code == 405
    assert answer.json()["reason"].startswith("DELETE is not possible here; use ")
    assert "GET" in answer["Allow"]


@pytest.mark.parametrize("key", ["hot-chassis", "nonsense", "%00", "ü"])
def test_a_step_that_is_not_on_the_list_is_404(api, number, key):
    status, answer = api.post(f"jobs/{number}/steps/{key}/sign/", {"result": "pass"})
    assert status == 404
    assert "is not on the checklist" in answer["reason"]


def test_a_refused_stage_says_why_in_one_sentence(api, number):
    status, answer = api.post(f"jobs/{number}/stage/", {"to": "soaking"})
    assert status == 409
    assert answer["reason"] == (
        "From received a job can go to reproducing, opened, withdrawn, not to soaking."
    )
    assert answer["unmet"] == []


def test_waiving_goes_by_the_pack(people, api, number):
    status, answer = api.post(f"jobs/{number}/steps/fuse-check/waive/", {"reason": "no time"})
    assert (status, "nobody can waive" in answer["reason"]) == (409, True)


def test_a_long_list_is_read_in_pages(api, bench):
    numbers = [bench.receive() for _ in range(5)]
    first = [job["number"] for job in api.get("jobs/", limit=2)[1]]
    second = [job["number"] for job in api.get("jobs/", limit=2, before=first[-1])[1]]
    assert first + second == sorted(numbers, reverse=True)[:4]
    assert api.get("jobs/", limit=-5)[0] == 200
    assert api.get("jobs/", before=10**30)[0] == 200
    assert api.get("jobs/", before=-(10**30)) == (200, [])


def test_strangers_and_wrong_tokens_are_401(db):
    for caller in (Caller(), Caller("bw_wrong"), Caller("\u00fc")):
        for status, answer in (caller.get("jobs/"), caller.post("jobs/", {"unit": {}})):
            assert status == 401
            assert "Sign in" in answer["reason"]


def test_a_person_who_left_has_no_token(people):
    caller = caller_for(people.technician)
    people.technician.is_active = False
    people.technician.save()
    assert caller.get("jobs/")[0] == 401


def test_a_signed_in_browser_needs_the_csrf_token(people, number):
    client = Caller().client.__class__(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(people.technician)
    assert client.get("/api/v1/jobs/").status_code == 200
    path = f"/api/v1/jobs/{number}/power/"
    refused = client.post(path, '{"to": "isolated"}', content_type="application/json")
    assert refused.status_code == 403


def test_query_counts_do_not_grow_with_the_jobs(api, bench, django_assert_num_queries):
    bench.receive()
    with django_assert_num_queries(3):
        api.get("jobs/")
    for _ in range(29):
        bench.receive()
    with django_assert_num_queries(3):
        assert len(api.get("jobs/")[1]) == 30
