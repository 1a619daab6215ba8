"""What is sent twice with one Idempotency-Key is done once, and the replay tells how things are now."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
import time_machine
from django.db import OperationalError
from django.utils import timezone

from shop.api import once
from shop.api.models import KeyedRequest
from shop.api.urls import api as the_api
from shop.jobs.models import Job, LedgerRow
from tests.api.conftest import caller_for
from tests.helpers import amplifier

NOTE = {"kind": "note_added", "data": {"text": "Rang twice"}}


@pytest.fixture
def send(api):
    """Post with a key; returns status, answer and whether it is marked as a replay."""

    def post(path, body, key='"one"', by=api):
        answer = by.client.post(
            f"/api/v1/{path}",
            body if isinstance(body, bytes) else json.dumps(body),
            content_type="application/json",
            headers={**by.headers, once.HEADER: key},
        )
        return answer.status_code, answer.json(), once.REPLAYED_HEADER in answer.headers

    return post


def notes():
    return LedgerRow.objects.filter(event_type="note_added").count()


def test_the_same_note_three_times_is_one_row(send, number):
    path = f"jobs/{number}/ledger/"
    first, *others = [send(path, NOTE) for _ in range(3)]
    assert (first[0], first[2]) == (201, False)
    assert others == [(201, first[1], True)] * 2
    assert notes() == 1


def test_without_a_key_each_is_done(api, number):
    for _ in range(3):
        assert api.post(f"jobs/{number}/ledger/", NOTE)[0] == 201
    assert notes() == 3


def test_a_key_reads_the_same_with_and_without_quotation_marks(send, number):
    assert not send(f"jobs/{number}/ledger/", NOTE, key="seven")[2]
    assert send(f"jobs/{number}/ledger/", NOTE, key='"seven"')[2]


@pytest.mark.parametrize("key", ["", '""', '"a b"', "a b", '"' + "k" * 201 + '"', "schlüssel"])
def test_a_key_that_is_none_is_a_sentence(send, number, key):
    status, answer, _ = send(f"jobs/{number}/ledger/", NOTE, key=key)
    assert status == 422
    assert answer["problems"][0]["field"] == "Idempotency-Key"
    assert len(answer["reason"]) < 300
    assert notes() == 0


def test_one_key_for_two_requests_is_422(send, number):
    send(f"jobs/{number}/ledger/", NOTE)
    other = {"kind": "note_added", "data": {"text": "Something else"}}
    for path, body in ((f"jobs/{number}/ledger/", other), (f"jobs/{number}/ledger/?x=1", NOTE)):
        status, answer, _ = send(path, body)
        assert status == 422
        assert "was spent on another request" in answer["reason"]
    assert notes() == 1


def test_a_key_belongs_to_a_person(send, number, people):
    send(f"jobs/{number}/ledger/", NOTE)
    assert not send(f"jobs/{number}/ledger/", NOTE, by=caller_for(people.owner))[2]
    assert notes() == 2


def test_taken_in_twice_is_one_job_as_it_is_now(send, api):
    body = {"unit": {"make": "M", "model": "Y"}, "facts": amplifier()}
    first = send("jobs/", body)[1]
    api.post(f"jobs/{first['number']}/cover/", {"to": "off"})
    api.post(f"jobs/{first['number']}/stage/", {"to": "reproducing"})
    status, again, replayed = send("jobs/", body)
    assert (status, replayed, Job.objects.count()) == (201, True, 1)
    assert again["number"] == first["number"]
    assert again["stage"] == Job.objects.get().stage != first["stage"]


def energised(bench, number):
    bench.clear(number, "live", "limited")


def test_a_plug_that_was_seen_out_since_is_not_doubted_again(send, bench, number):
    path = f"jobs/{number}/plug/doubted/"
    bench.limited(number)
    assert send(path, {}, key='"live"')[0] == 409
    bench.power(number, "isolated")
    status, answer, replayed = send(path, {}, key='"doubt"')
    assert (status, answer["unplug_due"], replayed) == (200, True, False)
    assert send(path, {}, key='"doubt"')[2]
    bench.power(number, "isolated")
    status, answer, _ = send(path, {}, key='"doubt"')
    assert status == 409
    assert "By now its plug is recorded as out" in answer["reason"]
    assert not bench.job(number).unplug_due


def test_mains_that_fell_since_is_never_told_as_on(send, api, bench, number):
    energised(bench, number)
    status, answer, _ = send(f"jobs/{number}/power/", {"to": "limited"})
    assert (status, answer["power"]) == (200, "limited")
    status, answer, replayed = send(f"jobs/{number}/power/", {"to": "limited"})
    assert (status, answer["power"], replayed) == (200, "limited", True)

    # A finding that holds mains: the permit falls.
    finding = {"kind": "finding_recorded", "data": {"finding": "insulation-damaged"}}
    assert api.post(f"jobs/{number}/ledger/", finding)[0] == 201
    assert api.get(f"jobs/{number}/")[1]["power"] == "isolated"

    status, answer, replayed = send(f"jobs/{number}/power/", {"to": "limited"})
    assert (status, answer["codes"], replayed) == (409, ["replayed"], True)
    assert "By now power is isolated, not limited. Nothing was done again." in answer["reason"]
    assert Job.objects.get(pk=number).power == "isolated"


def test_mains_off_sent_again_says_nothing_of_mains_that_came_on_since(send, api, bench, number):
    energised(bench, number)
    for key in ("first", "second"):
        assert api.post(f"jobs/{number}/power/", {"to": "limited"})[0] == 200
        status, answer, replayed = send(f"jobs/{number}/power/", {"to": "isolated"}, key=key)
        assert (status, answer["power"], replayed) == (200, "isolated", False)
    status, answer, replayed = send(f"jobs/{number}/power/", {"to": "isolated"}, key="second")
    assert (status, answer["power"], replayed) == (200, "isolated", True)

    assert api.post(f"jobs/{number}/power/", {"to": "limited"})[0] == 200
    status, answer, replayed = send(f"jobs/{number}/power/", {"to": "isolated"}, key="second")
    assert (status, answer["codes"], replayed) == (409, ["replayed"], True)
    assert "By now power is limited" in answer["reason"]
    assert send(f"jobs/{number}/power/", {"to": "isolated"}, key="third")[1]["power"] == "isolated"


def test_mains_off_sent_again_confirms_no_plug(send, api, bench, number):
    energised(bench, number)
    assert api.post(f"jobs/{number}/power/", {"to": "limited"})[0] == 200
    assert send(f"jobs/{number}/power/", {"to": "isolated"})[0] == 200
    assert api.post(f"jobs/{number}/power/", {"to": "limited"})[0] == 200
    finding = {"kind": "finding_recorded", "data": {"finding": "insulation-damaged"}}
    assert api.post(f"jobs/{number}/ledger/", finding)[0] == 201
    status, answer, _ = send(f"jobs/{number}/power/", {"to": "isolated"})
    assert (status, answer["unplug_due"]) == (200, True)


def test_no_key_is_in_the_way_of_mains_off(send, api, bench, number, monkeypatch):
    energised(bench, number)
    assert api.post(f"jobs/{number}/power/", {"to": "limited"})[0] == 200

    def busy(*_):
        raise OperationalError("database is locked")

    monkeypatch.setattr(once, "_claimed", busy)
    status, answer, _ = send(f"jobs/{number}/power/", {"to": "isolated"})
    assert (status, answer["power"]) == (200, "isolated")
    assert not KeyedRequest.objects.exists()


def test_a_refusal_is_kept_and_its_replay_switches_nothing_on(send, bench, number):
    status, first, _ = send(f"jobs/{number}/power/", {"to": "limited"})
    assert (status, bool(first["unmet"])) == (409, True)
    energised(bench, number)
    status, again, replayed = send(f"jobs/{number}/power/", {"to": "limited"})
    assert (status, again["unmet"], replayed) == (409, first["unmet"], True)
    assert "with another Idempotency-Key" in again["reason"]
    assert Job.objects.get(pk=number).power == "isolated"
    assert send(f"jobs/{number}/power/", {"to": "limited"}, key="two")[0] == 200


def test_what_could_not_be_read_leaves_its_key_free(send, number):
    assert send(f"jobs/{number}/ledger/", b"{")[0] == 422
    assert send(f"jobs/{number}/ledger/", {"kind": "note_added", "data": {}})[0] == 422
    assert send("jobs/987654/ledger/", NOTE)[0] == 404
    assert send(f"jobs/{number}/ledger/", NOTE)[0] == 201


def test_a_step_signed_twice_is_signed_once_and_ends_all_the_same(send, api, bench, number):
    path = f"jobs/{number}/steps/visual-intake/sign/"
    assert send(path, {"result": "pass"})[1]["state"] == "signed"
    assert send(path, {"result": "pass"})[2]
    assert LedgerRow.objects.filter(event_type="step_signed").count() == 1
    row = LedgerRow.objects.get(event_type="step_signed")
    withdrawn = {"kind": "entry_withdrawn", "data": {"row": row.sequence, "reason": "wrong unit"}}
    assert api.post(f"jobs/{number}/ledger/", withdrawn)[0] == 201
    assert send(path, {"result": "pass"})[1]["state"] == "due"


def test_a_step_that_left_the_list_says_so(send, api, bench, number):
    bench.ready_for(number, bench.step(number, "earth-continuity").step)
    path = f"jobs/{number}/steps/earth-continuity/sign/"
    body = {"result": "pass", "readings": [{"quantity": "earth_ohms", "value": 0.05}]}
    assert send(path, body)[0] == 200
    fact = {"name": "unit.protective_class", "value": "II"}
    assert api.post(f"jobs/{number}/ledger/", {"kind": "fact_recorded", "data": fact})[0] == 201
    status, answer, replayed = send(path, body)
    assert (status, replayed) == (409, True)
    assert "By now the step is not on the list." in answer["reason"]


def test_an_estimate_is_sent_once_and_told_with_its_answer(send, api, number):
    body = {"words": "", "lines": [{"words": "Labour", "price": "60"}]}
    first = send(f"jobs/{number}/estimates/", body)[1]
    yes = {"answer": "yes", "version": first["version"], "way": "telephone"}
    assert api.post(f"jobs/{number}/ledger/", {"kind": "estimate_answered", "data": yes})[0] == 201
    status, again, replayed = send(f"jobs/{number}/estimates/", body)
    assert (status, again["answer"], replayed) == (201, "yes", True)
    assert len(api.get(f"jobs/{number}/estimates/")[1]) == 1


def test_a_fault_between_the_write_and_its_key_leaves_neither(send, api, number, monkeypatch):
    def dies(*_):
        raise SystemError("killed")

    api.client.raise_request_exception = True
    with monkeypatch.context() as patch:
        patch.setattr(KeyedRequest, "keep", dies)
        with pytest.raises(SystemError):
            send(f"jobs/{number}/ledger/", NOTE)
    assert (notes(), KeyedRequest.objects.count()) == (0, 0)
    assert send(f"jobs/{number}/ledger/", NOTE)[0] == 201
    assert notes() == 1


def test_a_key_is_forgotten_after_a_day_with_all_that_are_old(send, number, people):
    for key in ("a", "b", "c"):
        send(f"jobs/{number}/ledger/", NOTE, key=key)
    with time_machine.travel(timezone.now() + timedelta(hours=23, minutes=59), tick=False):
        assert send(f"jobs/{number}/ledger/", NOTE, key="a")[2]
    with time_machine.travel(timezone.now() + timedelta(hours=24, seconds=5), tick=False):
        assert not send(f"jobs/{number}/ledger/", NOTE, key="a")[2]
        assert KeyedRequest.objects.count() == 1


def test_a_replay_is_told_to_nobody_whose_role_is_gone(send, number, people):
    send(f"jobs/{number}/ledger/", NOTE)
    people.technician.groups.clear()
    assert send(f"jobs/{number}/ledger/", NOTE)[0] == 403


def test_every_post_says_how_it_is_replayed():
    views = [v for _, router, *_ in the_api._routers for v in router.path_operations.values()]
    posts = [one for view in views for one in view.operations if "POST" in one.methods]
    assert len(posts) >= 10
    assert [one.path for one in posts if not hasattr(one.view_func, "once")] == []
