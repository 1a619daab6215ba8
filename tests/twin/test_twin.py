"""The twin by itself: nobody is hurt, few harmless moves are refused, and it does find harm.

`make twin`, outside the usual run: it takes minutes.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings

from checklists import published
from checklists.engine import acts, reading_packs
from checklists.engine.mutants import mutants
from tests.twin.walk import Tally, walk

pytestmark = [pytest.mark.twin, pytest.mark.django_db]
SEEDS = range(10)
MOVES = 400
MOST_HARMLESS_REFUSED = 0.01
# How many seeds are walked until a shop without one rule has hurt somebody.
SEEDS_TO_HARM = 10


def _walked(seeds: range, *, follows: float | None = None) -> Tally:
    total = Tally()
    for seed in seeds:
        total.add(walk(seed, MOVES, follows=follows))
    return total


def test_honest_hands_hurt_nobody_and_are_seldom_hindered(capsys):
    total = _walked(SEEDS)
    with capsys.disabled():
        print(f"\n{total.table()}")
    assert total.accepted > 100 * len(SEEDS)
    assert total.harms.total() == 0, total.stories
    assert total.refused.total() <= MOST_HARMLESS_REFUSED * total.harmless, total.refused


def _harm_is_done() -> bool:
    return any(walk(seed, MOVES).harms for seed in range(SEEDS_TO_HARM))


@pytest.mark.parametrize("guard", ["against_hands", "against_cover_off", "against_power"])
def test_it_finds_harm_where_one_guard_asks_nothing(monkeypatch, guard):
    monkeypatch.setattr(acts, guard, lambda *given: [])
    assert _harm_is_done()


def test_it_finds_harm_where_mains_no_longer_ends_the_dead_test(monkeypatch):
    parts = reading_packs.parts(Path(settings.PACK_FOLDER))
    line = "dead-not-proved: not raised by power_applied"
    [pack] = [one.pack() for one in mutants(parts) if one.name == line]
    monkeypatch.setattr(published, "current", lambda: pack)
    assert _harm_is_done()
