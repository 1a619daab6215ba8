"""A stage and the move that it is made for go by one tap, where the second is the next act."""

from __future__ import annotations

import pytest
from django.urls import reverse

from checklists.engine.words import LIMITED
from tests.helpers import Bench, amplifier


@pytest.fixture
def bench(people, client):
    client.force_login(people.technician)
    return Bench(people.technician)


def to_reproducing(client, number, then):
    return client.post(reverse("stage", args=[number]), {"to": "reproducing", "then": then})


def test_mains_comes_on_with_the_stage_when_all_that_it_asks_stands(client, bench):
    number = bench.receive(facts=amplifier())
    bench.clear(number, LIMITED)
    page = client.get(reverse("job", args=[number])).content.decode()
    assert 'name="then" value="power limited"' in page
    to_reproducing(client, number, "power limited")
    assert bench.job(number).stage == "reproducing"
    assert bench.job(number).power == "limited"


def test_mains_stays_off_when_it_is_not_the_next_act(client, bench):
    number = bench.receive(facts=amplifier())
    to_reproducing(client, number, "power limited")
    assert bench.job(number).stage == "reproducing"
    assert bench.job(number).power == "isolated"


@pytest.mark.parametrize("then", ["", "power full", "cover off", "soak_started", "nonsense"])
def test_only_what_was_announced_is_done(client, bench, then):
    number = bench.receive(facts=amplifier())
    bench.clear(number, LIMITED)
    to_reproducing(client, number, then)
    assert bench.job(number).power == "isolated"
    assert bench.job(number).cover == "on"


def test_the_complaint_need_not_be_seen(client, bench):
    number = bench.receive(facts=amplifier())
    page = client.get(reverse("job", args=[number])).content.decode()
    assert "Open it without seeing it" in page
    client.post(reverse("record", args=[number, "round_finished"]), {"round": "see"})
    act = client.get(f"/api/v1/jobs/{number}/next/").json()
    assert (act["act"], act.get("key")) == ("sign", "unplugged-lead-in-sight")


def test_the_answer_of_the_customer_is_taken_on_the_card(client, bench):
    number = bench.receive(facts=amplifier())
    bench.record(number, "estimate_sent")
    page = client.get(reverse("job", args=[number])).content.decode()
    assert "No: it goes back as it is" in page
    told = {"answer": "no", "way": "telephone", "note": "too dear"}
    client.post(reverse("record", args=[number, "estimate_answered"]), told)
    record = bench.traveller(number).record
    assert record.estimate == "no"
    assert record.of_type("estimate_answered")[-1].data == told


def test_nobody_at_the_bench_answers_by_the_link(client, bench):
    number = bench.receive(facts=amplifier())
    bench.record(number, "estimate_sent")
    told = {"answer": "yes", "way": "link"}
    answer = client.post(reverse("record", args=[number, "estimate_answered"]), told)
    assert answer.status_code == 422
    assert bench.traveller(number).record.estimate == "sent"
