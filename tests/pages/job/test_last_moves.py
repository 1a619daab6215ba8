"""A move that nothing takes back is asked once, by the name of the unit; mains off never is."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.helpers import flat

HTMX = {"HX-Request": "true"}


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def ready(bench, job):
    bench.pass_gate(job, "hand-back")
    return job


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_hand_back_is_asked_with_what_follows(hands, bench, ready, headers):
    path = reverse("stage", args=[ready])
    text = flat(hands.post(path, {"to": "withdrawn"}, headers=headers).content.decode())
    assert f"Hand {ready} {bench.job(ready).unit} back unrepaired?" in text
    assert "The job is closed." in text
    assert not bench.job(ready).closed
    hands.post(path, {"to": "withdrawn", "sure": "yes"})
    assert bench.job(ready).closed


def test_what_is_refused_is_not_asked_first(hands, bench, job):
    answer = hands.post(reverse("stage", args=[job]), {"to": "released"})
    assert answer.status_code == 409
    assert "can go to" in answer.content.decode()


def test_a_stage_on_the_way_is_not_asked(hands, bench, job):
    hands.post(reverse("stage", args=[job]), {"to": "reproducing"})
    assert bench.job(job).stage == "reproducing"


def test_taking_mains_off_is_not_asked(hands, bench, job):
    bench.limited(job)
    hands.post(reverse("power", args=[job]), {"to": "isolated"})
    assert bench.job(job).power == "isolated"


def test_to_mark_a_unit_beyond_repair_is_asked(hands, bench, job):
    key = "hand-back-unusable"
    bench.sign(job, "earth-continuity", readings=[("earth_ohms", 5)])
    assert key in bench.traveller(job).checklist.by_key
    path = reverse("sign", args=[job, key])
    text = flat(hands.post(path, {"result": "pass"}).content.decode())
    assert f"Mark {job} {bench.job(job).unit} as beyond repair?" in text
    assert bench.state(job, key) == "due"
    hands.post(path, {"result": "fail"})
    assert bench.state(job, key) == "failed"


def test_a_part_on_order_is_given_up_after_one_question(hands, bench, job):
    need = bench.record(job, "part_needed", spec="Relay 24 V").sequence
    bench.record(job, "part_ordered", need=need)
    path = reverse("record", args=[job, "part_lost"])
    sent = {"need": need, "why": "lost", "next": "job-parts"}
    text = flat(hands.post(path, sent).content.decode())
    assert "Relay 24 V counts as not ordered again." in text
    assert bench.traveller(job).record.needs[0].ordered
    hands.post(path, {**sent, "sure": "yes"})
    assert not bench.traveller(job).record.needs[0].ordered


def test_last_moves_do_not_stand_among_the_others(hands, ready):
    text = hands.get(reverse("job-list", args=[ready])).content.decode()
    moves, last = text.split("<summary>End the job</summary>")
    assert 'value="withdrawn"' not in moves
    assert 'value="withdrawn"' in last
    assert "Cover off" not in last
