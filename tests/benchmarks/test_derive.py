"""What a pack 25 times larger says of other kinds of unit is not evaluated: counted, not timed."""

from __future__ import annotations

import pytest

from checklists.engine import cel, reading_packs
from checklists.engine.derive import derive
from tests.benchmarks.derive import PACK, TIMES, larger_pack
from tests.helpers_plain import amplifier

pytestmark = pytest.mark.long


def test_a_larger_pack_lists_the_same_and_evaluates_hardly_more(tmp_path, monkeypatch):
    small, large = reading_packs.load(PACK), reading_packs.load(larger_pack(tmp_path))
    assert len(large.hazards) == TIMES * len(small.hazards)
    asked = []
    outcome = cel.Condition.outcome

    def counted(condition, bound):
        asked.append(condition)
        return outcome(condition, bound)

    monkeypatch.setattr(cel.Condition, "outcome", counted)
    monkeypatch.setattr("checklists.engine.derive._CACHES", {})
    counts, keys = [], []
    for pack in (small, large):
        asked.clear()
        keys.append([step.key for step in derive(pack, amplifier()).steps])
        counts.append(len(asked))
    assert keys[0] == keys[1]
    assert counts[1] <= 1.2 * counts[0]
