from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from shop.bench.electrical.matching import current_sharing, matching


def _most_groups(values, size, share):
    """Return the largest number of disjoint groups, by trying them all."""
    best = 0
    for group in combinations(range(len(values)), size):
        picked = [values[place] for place in group]
        if max(picked) <= min(picked) * (1 + share) * (1 + 1e-12):
            rest = [value for place, value in enumerate(values) if place not in group]
            best = max(best, 1 + _most_groups(rest, size, share))
    return best


@given(st.lists(st.integers(50, 90).map(float), min_size=2, max_size=7), st.integers(2, 3))
def test_no_choice_makes_more_groups(values, size):
    got = matching(values, 8, size)
    assert len(got.groups) == _most_groups(values, size, 0.08)
    members = [int(word) for group in got.groups for word in group.split(" with ")]
    assert sorted(members + [int(word) for word in got.left_over]) == list(
        range(1, len(values) + 1)
    )
    assert all(apart <= 8 + 1e-9 for apart in got.apart_percent)


def test_groups_are_named_by_their_place_as_typed():
    got = matching([100, 150, 104, 99])
    assert got.groups == ("1 with 4",)
    assert got.left_over == ("2", "3")
    assert got.apart_percent == pytest.approx((100 / 99 * 100 - 100,))


@given(st.floats(0.01, 20), st.floats(0, 120), st.floats(0, 1))
def test_two_share_as_the_root_of_the_equation_says(total, apart, ohms):
    def off(first):
        second = total - first
        return (first - second) * ohms + 0.026 * math.log(first / second) - apart / 1000

    got = current_sharing(total, apart, ohms)
    want = brentq(off, total / 2, total * (1 - 1e-12), xtol=1e-14)
    assert got.higher_amps == pytest.approx(want, rel=1e-6)
    assert got.higher_amps + got.lower_amps == pytest.approx(total)
