from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t

from shop.bench.electrical import heating
from tests.helpers_plain import examples


@settings(max_examples=examples(20), deadline=None)
@given(st.floats(20, 40), st.floats(10, 60), st.floats(5, 60), st.integers(5, 12))
def test_a_true_heating_curve_is_found_again(start, rise, tau, count):
    minutes = [tau * 3 * n / (count - 1) for n in range(count)]
    celsius = [start + rise * -math.expm1(-m / tau) for m in minutes]
    found = heating.heating_curve(minutes, celsius, 200)
    assert found.final_celsius == pytest.approx(start + rise, abs=1e-3)
    assert found.time_constant_minutes == pytest.approx(tau, rel=1e-3)
    assert found.verdict in ("will-settle", "has-settled")


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
        ([22, 35, 44, 50, 58, 60], 70, "will-settle", "It will settle at 61 +- 1.4 C, below the 70 C"),
        ([22, 35, 44, 50, 58, 60], 58, "will-not-settle", "It will not settle below the 58 C limit"),
        ([22, 26, 30, 34, 46, 58], 70, "cannot-tell", "do not bend enough yet"),
        ([40, 40.5, 40, 40.2, 40, 40], 70, "has-settled", "It has settled at 40"),
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


def test_the_margin_is_of_student_t():
    fitted = heating.Fit(np.array([20.0, 30.0, 40.0]), np.diag([1.0, 3.0, 9.0]), 0.1, freedom=5)
    assert fitted.final(0.9)[1] == pytest.approx(2 * t.ppf(0.95, 5), rel=1e-12)


def test_the_band_holds_the_curve():
    """Nineteen of twenty bands hold the true curve, at its start, in its bend and at its end."""
    draw = np.random.default_rng(8)
    minutes, at = np.linspace(0, 90, 12), np.array([5.0, 30.0, 120.0])
    held = np.zeros(3)
    for _ in range(60):
        read = 22 + 40 * -np.expm1(-minutes / 25) + draw.normal(0, 0.3, 12)
        curve, half = heating.weighed(list(minutes), list(read)).band(at)
        held += abs(curve - (22 + 40 * -np.expm1(-at / 25))) <= half
    assert (held >= 52).all()  # fewer of sixty has a chance below one in a thousand


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

    monkeypatch.setattr("scipy.optimize.curve_fit", endless)
    assert heating.heating_curve([0, 10, 20, 30, 60], [22, 35, 44, 50, 58], 70).final_celsius > 58
    with pytest.raises(ValueError, match="do not follow a heating curve"):
        heating.fit([0, 10, 20, 30], [22, 35, 44, 50])


def lumps(minutes, *pairs):
    """Sum of K (1 - exp(-t / tau)): the closed form, apart from the code under test."""
    at = np.asarray(minutes, dtype=float)
    return sum(rise * -np.expm1(-at / tau) for rise, tau in pairs)


PLAN = [0, 10, 30, 60, 120, 180, 240]


@pytest.mark.parametrize(
    ("pairs", "limit"),
    [(((32, 15), (18, 300)), 70), (((30, 8), (20, 120)), 72), (((35, 15), (12, 300)), 70)],
)
def test_a_sink_in_a_box_is_not_called_settled_below_what_it_passes(pairs, limit):
    draw = np.random.default_rng(4)
    called = 0
    for _ in range(20):
        read = 25 + lumps(PLAN, *pairs) + draw.normal(0, 0.3, 7)
        found = heating.heating_curve(PLAN, list(read), limit)
        called += found.verdict in ("will-settle", "has-settled")
        assert found.final_celsius >= read[-1]
    assert called <= 1  # one in a hundred by tests/benchmarks/heating.py


def test_two_time_constants_are_told():
    minutes = list(range(0, 481, 20))
    found = heating.heating_curve(minutes, list(25 + lumps(minutes, (25, 12), (15, 120))), 80)
    assert found.final_celsius == pytest.approx(65, abs=1)
    assert found.time_constant_minutes == pytest.approx(120, rel=0.15)
    assert found.fast_time_constant_minutes == pytest.approx(12, rel=0.15)


@pytest.mark.parametrize("growth", [30, 45, 60])
def test_the_onset_of_a_runaway_is_not_called_settled(growth):
    minutes = np.arange(0, 241, 20.0)
    read = 25 + lumps(minutes, (35, 20)) + 6 * np.exp((minutes - 240) / growth)
    found = heating.heating_curve(list(minutes), list(read), 90)
    assert found.verdict == "will-not-settle"
    assert "faster and faster" in found.says


def test_growth_from_the_start_is_seen():
    minutes = np.arange(0, 61, 10.0)
    found = heating.heating_curve(list(minutes), list(25 + 4 * np.exp(minutes / 30)), 80)
    assert found.verdict == "will-not-settle"


@pytest.mark.parametrize(
    ("minutes", "celsius", "limit"),
    [
        ([0, 10, 20, 30], [68, 68.4, 68.9, 69.4], 70),  # little spread, and still rising
        ([0, 60, 120, 180, 240], [25, 36.2, 47.4, 58.6, 69.8], 70),  # straight to the limit
        ([0, 10, 20, 30], [68, 68, 68, 68], 69),
    ],
)
def test_too_little_to_tell_is_said(minutes, celsius, limit):
    assert heating.heating_curve(minutes, celsius, limit).verdict == "cannot-tell"


def test_readings_that_scatter_are_to_be_looked_at():
    found = heating.heating_curve([0, 30, 60, 90], [20, 40, 20, 40], 70)
    assert (found.verdict, "scatter by" in found.says) == ("cannot-tell", True)


def test_readings_that_leave_the_curve_for_a_while_are_to_be_looked_at():
    minutes = np.arange(0, 300, 10.0)
    read = 25 + lumps(minutes, (30, 20)) - 3.5 * ((minutes > 100) & (minutes < 170))
    found = heating.heating_curve(list(minutes), list(read), 70)
    assert (found.verdict, "to one side" in found.says) == ("cannot-tell", True)


@pytest.mark.parametrize(
    ("minutes", "celsius", "sentence"),
    [
        ([0, 0, 0, 0], [40, 40, 40, 40], "must go forward"),
        ([3, 2, 1, 0], [40, 40, 40, 40], "must go forward"),
        ([0, 1, 2, 3], [40, float("nan"), 40, 40], "celsius 2 is"),
        ([0, 1, float("nan"), 3], [40, 40, 40, 40], "minutes 3 is"),
    ],
)
def test_times_and_readings_that_are_none_get_a_sentence(minutes, celsius, sentence):
    with pytest.raises(ValueError, match=sentence):
        heating.heating_curve(minutes, celsius, 70)


def test_many_readings_are_taken():
    minutes = np.arange(0, 2400, 1.0)
    read = 22 + lumps(minutes, (40, 80)) + np.random.default_rng(1).normal(0, 0.3, len(minutes))
    found = heating.heating_curve(list(minutes), list(read), 70)
    assert found.verdict == "has-settled"
    assert found.final_celsius == pytest.approx(62, abs=0.3)
