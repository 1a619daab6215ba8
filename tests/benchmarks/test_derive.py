"""What a pack 25 times larger says of other kinds of unit costs hardly more: counted, not timed."""

from __future__ import annotations

import pytest

from checklists.engine import reading_packs
from checklists.engine.derive import cache_of, derive
from tests.benchmarks.derive import PACK, TIMES, larger_pack
from tests.helpers_plain import amplifier

pytestmark = pytest.mark.long


def test_a_larger_pack_lists_the_same_and_tests_hardly_more(tmp_path):
    small, large = reading_packs.load(PACK), reading_packs.load(larger_pack(tmp_path))
    assert len(large.hazards) == TIMES * len(small.hazards)
    keys, tests, in_force = zip(*map(asked, (small, large)), strict=True)
    assert keys[0] == keys[1]
    assert in_force[0] == in_force[1]
    assert tests[1] <= 1.2 * tests[0]


def asked(pack):
    listed, cache = derive(pack, amplifier()), cache_of(pack)
    tests = sum(len(fact.tests) for fact in cache.conditions.facts.values())
    return [step.key for step in listed.steps], tests, len(cache.unit(amplifier()).in_force)
