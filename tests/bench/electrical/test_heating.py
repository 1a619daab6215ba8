from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.bench.electrical import heating
from tests.helpers_plain import examples


@given(st.floats(20, 40), st.floats(10, 60), st.floats(5, 60), st.integers(5, 12))
def test_a_true_heating_curve_is_found_again(start, rise, tau, count):
    minutes = [tau * 3 * n / (count - 1) for n in range(count)]
    celsius = [start + rise * -math.expm1(-m / tau) for m in minutes]
    found = heating.heating_curve(minutes, celsius, 200)
    assert found.final_celsius == pytest.approx(start + rise, abs=1e-3)
    assert found.time_constant_minutes == pytest.approx(tau, rel=1e-3)
    assert found.verdict == "will-settle"


@settings(max_examples=examples(20), deadline=None)
@given(st.integers(0, 10_000))
def test_the_interval_of_noisy_readings_mostly_holds_the_truth(seed):
    draw = np.random.default_rng(seed)
    minutes = np.linspace(0, 90, 10)
    inside = 0
    for _ in range(20):
        celsius = 22 + 40 * -np.expm1(-minutes / 25) + draw.normal(0, 0.4, 10)
        found = heating.heating_curve(list(minutes), list(celsius), 200)
        inside += abs(found.final_celsius - 62) <= found.half_width_kelvin
    # 95 % of them should; twelve of twenty or fewer has a chance below one in a million.
    assert inside > 12


@pytest.mark.parametrize(
    ("celsius", "limit", "verdict", "words"),
    [
        ([22, 35, 44, 50, 58, 60], 70, "will-settle", "It will settle at 61 +- 0.72 C, below the 70 C"),
        ([22, 35, 44, 50, 58, 60], 58, "will-not-settle", "It will not settle below the 58 C limit"),
        ([22, 26, 30, 34, 46, 58], 70, "cannot-tell", "do not bend enough yet"),
        ([40, 40.5, 40, 40.2, 40, 40], 70, "will-settle", "It has settled at 40"),
    ],
)  # fmt: skip
def test_what_a_heating_curve_says(celsius, limit, verdict, words):
    found = heating.heating_curve([0, 10, 20, 30, 60, 90], celsius, limit)
    assert found.verdict == verdict
    assert words in found.says
