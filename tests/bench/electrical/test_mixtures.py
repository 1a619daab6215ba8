"""A mixture of normal distributions, whole and with its close parts put together."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from shop.bench.electrical.mixtures import Mixture
from tests.helpers_plain import examples


def drawn(seed, count, widest):
    rng = np.random.default_rng(seed)
    return rng.exponential(size=count), rng.normal(60, widest, count), rng.uniform(0.05, 3, count)


@settings(max_examples=examples(25), deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 3000), st.floats(0.01, 30), st.floats(0.02, 0.98))
def test_close_parts_as_one_move_no_quantile_by_what_anybody_reads(seed, count, widest, share):
    weight, mean, spread = drawn(seed, count, widest)
    whole, grouped = Mixture(weight, mean, spread), Mixture.of(weight, mean, spread)
    assert len(grouped.weight) <= count
    assert grouped.weight.sum() == pytest.approx(weight.sum())
    assert grouped.quantile(share) == pytest.approx(whole.quantile(share), abs=0.02)
    assert grouped.half_width(60.0) == pytest.approx(whole.half_width(60.0), abs=0.02)


def test_many_become_few():
    weight, mean, spread = drawn(1, 30_000, 5.0)
    assert len(Mixture.of(weight, mean, spread + 0.5).weight) < 5000


def test_two_parts_against_the_distribution_of_another_library():
    pair = Mixture.of(np.array([0.3, 0.7]), np.array([20.0, 50.0]), np.array([1.0, 4.0]))
    for celsius in (18.0, 21.0, 40.0, 52.5):
        expected = 0.3 * norm.cdf(celsius, 20, 1) + 0.7 * norm.cdf(celsius, 50, 4)
        assert pair.below(celsius) == pytest.approx(expected, abs=1e-12)
    assert pair.below(pair.quantile(0.6)) == pytest.approx(0.6, abs=1e-6)


def test_one_part_gives_the_table_of_the_normal_distribution():
    # 1.959964 deviations to each side hold 95 %: tables of the normal distribution.
    alone = Mixture.of(np.array([2.0]), np.array([70.0]), np.array([0.5]))
    assert alone.half_width(70.0) == pytest.approx(0.5 * 1.959964, abs=1e-6)
    assert alone.quantile(0.975) == pytest.approx(70 + 0.5 * 1.959964, abs=1e-6)


@settings(max_examples=examples(25), deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 300), st.floats(0.01, 30), st.floats(0.02, 0.98))
def test_a_share_is_reached_above_its_quantile_and_not_below(seed, count, widest, share):
    mixture = Mixture(*drawn(seed, count, widest))
    quantile = mixture.quantile(share)
    assert mixture.reaches(share, quantile + 0.001)
    assert not mixture.reaches(share, quantile - 0.001)
