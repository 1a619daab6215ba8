"""Walks on the real shop: the same again from the same seed, nothing left, results kept."""

from __future__ import annotations

import subprocess
import sys

import pytest
from django.conf import settings

from shop.jobs.models import Job
from tests.twin import flow, results
from tests.twin.hands import OPENING_TIME, Hands
from tests.twin.shop_door import Door
from tests.twin.walk import Tally, walk


@pytest.mark.django_db
def test_a_walk_is_the_same_again_and_leaves_nothing():
    first, again, other = (walk(seed, 40) for seed in (5, 5, 6))
    assert first.as_dict() == again.as_dict()
    assert first.as_dict() != other.as_dict()
    assert first.tried == 40
    assert 0 < first.accepted <= 40
    assert not Job.objects.exists()


@pytest.mark.django_db
def test_results_come_back_and_a_torn_line_counts_as_not_done(tmp_path):
    tally = walk(1, 20)
    results.keep(tmp_path, 1, tally)
    with (tmp_path / "seeds.jsonl").open("a") as out:
        out.write('{"seed": 2, "tal')
    results.keep(tmp_path, 3, tally)
    kept = results.done(tmp_path, Tally)
    assert sorted(kept) == [1, 3]
    assert kept[1].as_dict() == tally.as_dict()


@pytest.fixture
def hands(people):
    """Hands with one unit taken in, who follow what a shop tells that is set up by the test."""
    made = Hands(3, Door(people.technician, people.owner), follows=1.0)
    move = made.receive()
    made.after(move, made.door.do(move, OPENING_TIME))
    return made


@pytest.mark.parametrize(
    ("act", "verb", "data"),
    [
        ({"act": "cover", "to": "off"}, "cover", {"to": "off"}),
        ({"act": "power", "to": "limited"}, "power", {"to": "limited"}),
        ({"act": "stage", "to": "opened"}, "stage", {"to": "opened"}),
        (
            {"act": "record", "kind": "soak_started", "data": {}},
            "record",
            {"event_type": "soak_started", "data": {}},
        ),
    ],
)
def test_followers_do_the_next_act_that_the_shop_tells(hands, act, verb, data):
    hands.seen.clear()
    move = flow.of_act(hands, hands.door.view(hands.jobs[-1]), act)
    assert (move.verb, move.data) == (verb, data)


def test_a_next_act_to_sign_is_done_and_signed(hands):
    view = hands.door.view(hands.jobs[-1])
    move = flow.of_act(hands, view, {"act": "sign", "key": "visual-intake"})
    assert move.data.pop("answers")[0]["fact"] == "intake.damage"
    assert move.data == {"key": "visual-intake", "result": "pass", "readings": []}


@pytest.mark.parametrize("act", ["wait", "open", "none"])
def test_where_there_is_nothing_to_do_time_passes(hands, act):
    before = hands.minutes
    assert flow.of_act(hands, hands.door.view(hands.jobs[-1]), {"act": act}) is None
    assert hands.minutes > before


@pytest.mark.slow
@pytest.mark.process
def test_processes_side_by_side_walk_every_seed(tmp_path):
    asked = ["--seeds", "1-4", "--moves", "3", "--processes", "2", "--out", str(tmp_path)]
    run = [sys.executable, "-m", "tests.twin", *asked]
    subprocess.run(run, check=True, capture_output=True, timeout=300, cwd=settings.ROOT)
    assert set(results.done(tmp_path, Tally)) == {1, 2, 3}
