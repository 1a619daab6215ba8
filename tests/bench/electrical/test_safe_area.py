from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from shop.bench import registry
from shop.bench.electrical.safe_area import derating, safe_area

CURVE = {"curve_volts": [10.0, 30.0, 80.0, 100.0], "curve_amps": [15.0, 5.0, 1.0, 0.6]}


@pytest.mark.parametrize("phase", [0, 20, 37, 60, 85])
def test_the_peak_is_that_of_a_search_of_its_own(phase):
    """At full swing or below, whichever burns more: found by scipy on the closed expression."""

    def negative(angle, level):
        return -(1 - level * math.sin(angle)) * level * math.sin(angle - math.radians(phase))

    best = max(
        -minimize_scalar(negative, bounds=(start, start + 1), args=(level,), method="bounded").fun
        for level in np.linspace(0.05, 1, 96)
        for start in np.arange(0, 2 * math.pi, 0.5)
    )
    got = safe_area(40, 8, 1000, phase_degrees=phase, case_celsius=25)
    assert got.peak_watts == pytest.approx(best * 40**2 / 8, rel=1e-3)


def test_a_warm_case_a_phase_and_one_pair_less_each_make_it_worse():
    def share(**changed):
        usual = {"phase_degrees": 45, "case_celsius": 70, "pairs": 2, **CURVE}
        return safe_area(40, 8, 150, **(usual | changed)).share_percent

    assert share() < share(case_celsius=90)
    assert share() < share(phase_degrees=60)
    assert share() < share(pairs=1)


def test_second_breakdown_counts_where_the_watts_alone_would_pass():
    plain = safe_area(40, 8, 250, phase_degrees=45, case_celsius=60, junction_limit_celsius=200)
    curved = safe_area(
        40, 8, 250, phase_degrees=45, case_celsius=60, junction_limit_celsius=200,
        curve_volts=[10, 20, 80], curve_amps=[20, 5, 0.5],
    )  # fmt: skip
    assert (plain.verdict, curved.verdict) == ("within-watts", "outside")


def test_it_is_within_only_when_the_curve_was_compared():
    got = safe_area(40, 8, 250, phase_degrees=0, **CURVE)
    assert (got.verdict, got.share_percent < 100) == ("within", True)


def test_nothing_is_allowed_beyond_the_last_voltage_of_the_curve():
    got = safe_area(60, 8, 150, phase_degrees=60, curve_volts=[10, 80], curve_amps=[15, 1])
    assert (got.verdict, got.share_percent, got.allowed_amps) == ("outside", None, 0)
    assert got.worst_volts > 80


def test_a_point_between_two_of_the_curve_lies_on_a_straight_line_of_the_print():
    """From 5 V 20 A to 40 V 2.5 A on logarithmic scales: at 20 V, 5 A."""
    got = safe_area(
        40, 8, 1000, phase_degrees=0, case_celsius=25, curve_volts=[5, 40], curve_amps=[20, 2.5]
    )
    # There V I is 100 W everywhere, and the load line is nearest to it at 20 V, 2.5 A.
    assert got.worst_volts == pytest.approx(20, rel=0.02)
    assert got.allowed_amps == pytest.approx(5, rel=0.02)
    assert got.share_percent == pytest.approx(50, rel=1e-3)


@given(st.floats(1, 500), st.floats(-40, 149))
def test_derating_is_a_line_from_all_of_it_to_nothing(watts, case):
    got = derating(watts, case)
    assert 0 <= got.allowed_watts <= watts
    if case >= 25:
        assert case + got.allowed_watts * got.case_kelvin_per_watt == pytest.approx(150)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"case_celsius": 150.0}, "case_celsius is 150 C; it must be below"),
        ({"pairs": 1.5}, "pairs is 1.5; it must be a whole number"),
        ({"curve_volts": [10.0]}, "curve_amps has 0 values"),
        ({"curve_volts": [10.0, 10.0], "curve_amps": [1.0, 1.0]}, "it must go forward"),
        ({"phase_degrees": 91.0}, "phase_degrees is 91 degrees"),
    ],
)
def test_what_cannot_be_gets_a_sentence(changed, said):
    given_ = {"rail_volts": 40.0, "load_ohms": 8.0, "rated_watts": 150.0}
    with pytest.raises(ValueError, match=said):
        registry.run("safe-area", given_ | changed)
