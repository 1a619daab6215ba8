"""Hands that do only what the next act says: every mendable unit is released, and none is stuck."""

from __future__ import annotations

import pytest

from tests.twin import following, results
from tests.twin.following import Ends, followed
from tests.twin.shop_door import Door

pytestmark = pytest.mark.django_db
SEEDS = range(16)
UNITS = 3
MOST_ACTS = 150


@pytest.mark.twin
def test_every_mendable_unit_that_follows_the_next_act_is_released(capsys):
    ends = Ends()
    for seed in SEEDS:
        ends.add(followed(seed, UNITS))
    with capsys.disabled():
        print(f"\n{ends.table()}")
    # The twin has no fault that cannot be mended: what goes back was declined.
    assert ends.stuck == []
    assert len(ends.handed_back) == ends.declined > 0
    assert len(ends.released) == UNITS * len(SEEDS) - ends.declined
    assert max(ends.released) <= MOST_ACTS
    assert not ends.harms
    assert not ends.refused


@pytest.mark.parametrize(("seed", "end"), [(1, "released"), (4, "handed_back")])
def test_a_follower_goes_from_the_counter_to_its_end_and_is_never_refused(seed, end):
    ends = followed(seed, 1)
    assert (ends.units, len(getattr(ends, end)), ends.bad) == (1, 1, False)
    assert not ends.refused
    assert Ends.from_dict(ends.as_dict()) == ends
    assert f"{end.replace('_', ' '):15}      1" in ends.table()


def test_hands_that_wandered_first_still_come_to_an_end():
    ends = followed(62, 2, wander=25)
    assert (ends.units, ends.stuck) == (2, [])
    assert not ends.harms
    assert not ends.refused


def test_a_unit_that_gets_no_further_is_counted_and_the_next_one_comes(monkeypatch):
    monkeypatch.setattr(following, "MOST_TURNS", 3)
    monkeypatch.setattr(Door, "next_act", lambda self, number: {"act": "open", "title": "Look"})
    ends = followed(1, 2)
    assert (ends.units, len(ends.stuck), ends.bad) == (2, 2, True)
    assert "stuck at: Look" in ends.stuck[0]["harms"]


def test_followers_and_random_hands_are_kept_apart(tmp_path):
    results.keep(tmp_path, 7, Ends(released=[60]))
    assert results.done(tmp_path, Ends)[7].released == [60]
    assert [file.name for file in tmp_path.iterdir()] == ["followed.jsonl"]
