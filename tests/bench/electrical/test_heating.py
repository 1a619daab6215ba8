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


def test_a_fitted_curve_goes_through_its_start_and_its_end():
    minutes = [0.0, 10.0, 20.0, 40.0, 80.0]
    fitted = heating.fit(minutes, [20 + 40 * -math.expm1(-m / 25) for m in minutes])
    at = fitted.at(np.array([0.0, 25.0, 1e4]))
    assert at == pytest.approx([20, 20 + 40 * (1 - math.exp(-1)), 60], abs=1e-4)


def test_the_band_is_as_wide_as_fits_of_noisy_readings_scatter():
    """The band of one fit, at half of the error's 95 %, beside the scatter of 400 others."""
    draw = np.random.default_rng(8)
    minutes, at = np.linspace(0, 90, 12), np.array([5.0, 30.0, 120.0])
    truth = 22 + 40 * -np.expm1(-minutes / 25)
    fits = [heating.fit(list(minutes), list(truth + draw.normal(0, 0.3, 12))) for _ in range(400)]
    scatter = np.std([fitted.at(at) for fitted in fits], axis=0)
    # Student's t at 9 degrees of freedom, two-sided 95 %: 2.262 (printed tables).
    band = np.mean([fitted.band(at) for fitted in fits], axis=0) / 2.262
    assert band == pytest.approx(scatter, rel=0.1)
    final, half = fits[0].final()
    assert fits[0].band(np.array([1e6]))[0] == pytest.approx(half, rel=1e-6)
    assert fits[0].at(np.array([1e6]))[0] == pytest.approx(final)


def test_readings_that_follow_no_curve_are_refused():
    with pytest.raises(ValueError, match="do not follow a heating curve"):
        heating.fit([0.0, 10.0, 20.0, 30.0], [20.0, 20.0, 20.0, 20.0])


def test_a_limit_within_the_margin_leaves_it_open():
    curve = heating.heating_curve([0, 10, 20, 30, 60, 90], [22, 35, 44, 50, 58, 60], 61)
    assert curve.verdict == "cannot-tell"
    assert "the 61 C limit lies within that. Go on reading." in curve.says


def test_three_readings_that_do_not_bend_are_refused():
    with pytest.raises(ValueError, match="do not bend towards a final value"):
        heating.three_readings(25, 30, 40, 10)


def test_a_search_that_does_not_end_is_a_sentence(monkeypatch):
    def endless(*_, **__):
        raise RuntimeError("Optimal parameters not found")

    monkeypatch.setattr(heating, "curve_fit", endless)
    with pytest.raises(ValueError, match="do not follow a heating curve"):
        heating.fit([0, 10, 20, 30], [22, 35, 44, 50])
