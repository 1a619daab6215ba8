from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.statistics import suspects


@given(
    st.lists(st.tuples(st.floats(0.01, 1), st.floats(0.5, 60)), min_size=1, max_size=6),
    st.floats(0, 0.5),
)
def test_no_order_of_tests_beats_the_ratio_rule(parts, outside):
    whole = sum(weight for weight, _ in parts) / (1 - outside)
    known = [suspects.Suspect(str(n), p / whole, c) for n, (p, c) in enumerate(parts)]
    best = suspects.expected_minutes(suspects.in_order(known))
    brute = min(suspects.expected_minutes(order) for order in itertools.permutations(known))
    assert best == pytest.approx(brute)


@given(
    st.dictionaries(st.sampled_from("abcdef"), st.floats(0.01, 5), min_size=2),
    st.dictionaries(st.sampled_from("abcdef"), st.integers(0, 50)),
)
def test_learnt_priors_are_probabilities_that_lean_to_what_was_seen(priors, times):
    found = suspects.learnt(priors, times)
    assert sum(one.shop for one in found.values()) == pytest.approx(1)
    seen = sum(times.get(key, 0) for key in priors)
    for key, one in found.items():
        share = times.get(key, 0) / seen if seen else one.pack
        low, high = sorted((one.pack, share))
        assert low - 1e-9 <= one.shop <= high + 1e-9


@given(st.dictionaries(st.sampled_from("abcdef"), st.floats(0.01, 5), min_size=2))
def test_what_is_ruled_out_leaves_its_share_to_the_others(priors):
    gone = sorted(priors)[0]
    left = suspects.posterior(priors, [gone])
    assert gone not in left
    assert sum(left.values()) == pytest.approx(1)
    first, *_ = left
    for key in left:
        assert left[key] / left[first] == pytest.approx(priors[key] / priors[first])


def test_what_lies_outside_the_suspects_costs_the_whole_list():
    """By hand: 10 min always, 20 min unless the first was it (0.4)."""
    ordered = [suspects.Suspect("a", 0.4, 10), suspects.Suspect("b", 0.4, 20)]
    assert suspects.expected_minutes(ordered) == pytest.approx(10 + 0.6 * 20)


def test_more_than_certainty_is_refused():
    with pytest.raises(ValueError, match=r"probabilities add up to 1\.2; they must make at most 1"):
        suspects.test_order([0.6, 0.6], [10, 10])


def test_nothing_is_left_when_all_is_ruled_out():
    assert suspects.posterior({"a": 1.0}, ["a"]) == {}
