"""The next act through the API: flat JSON that is done by the addresses it stands for."""

from __future__ import annotations

from tests.api.conftest import Caller

# No fault, and a heat sink that is warm.
OBSERVED = {"bool": False, "double": 45.0}


def next_act(api, number):
    status, act = api.get(f"jobs/{number}/next/")
    assert status == 200, act
    return act


def do(api, number, act):
    """Do an act by the API alone, as a program would that knows only the shape of acts."""
    what = act["act"]
    if what == "sign":
        readings = [
            {"quantity": one["quantity"], "value": one["min"] if one["max"] is None else one["max"]}
            for one in act["readings"]
            if one["required"] and "recorded" not in one
        ]
        answers = [{"fact": one["fact"], "value": ["none"]} for one in act["answers"]]
        body = {"result": "pass", "readings": readings, "answers": answers}
        return api.post(f"jobs/{number}/steps/{act['key']}/sign/", body)
    if what in ("power", "cover", "stage"):
        return api.post(f"jobs/{number}/{what}/", {"to": act["to"]})
    chosen = act["choices"][-1] if "choices" in act else act
    needs = {one["name"]: OBSERVED[one["kind"]] for one in chosen["needs"]}
    row = {"kind": chosen["kind"], "data": chosen["data"] | needs}
    return api.post(f"jobs/{number}/ledger/", row)


def test_an_act_is_flat_and_says_what_and_why(api, number):
    act = next_act(api, number)
    assert act.keys() == {"act", "title", "why", "key", "gate", "readings", "answers"}
    assert (act["act"], act["key"], act["gate"]) == ("sign", "visual-intake", "first-power")
    assert act["why"]


def test_a_program_that_knows_the_shapes_is_never_refused(api, number):
    acts = []
    while (act := next_act(api, number))["act"] != "wait":
        acts.append(act.get("key") or act.get("to") or act["title"])
        status, answer = do(api, number, act)
        assert status in (200, 201), (act, answer)
        assert len(acts) < 80, acts[-40:]
    assert (act["on"], api.get(f"jobs/{number}/")[1]["stage"]) == ("soak", "soaking")


def test_data_never_holds_what_a_person_observes(api, number):
    for _ in range(30):
        act = next_act(api, number)
        if act.get("kind") == "trial_run":
            break
        do(api, number, act)
    assert act["data"] == {}
    assert act["needs"] == [{"name": "fault", "kind": "bool", "unit": "", "min": None, "max": None}]


def test_a_job_that_is_not_there_is_404(api):
    status, answer = api.get("jobs/99/next/")
    assert (status, answer["reason"]) == (404, "There is no job 99.")


def test_a_stranger_is_told_to_sign_in(number):
    assert Caller().get(f"jobs/{number}/next/")[0] == 401
