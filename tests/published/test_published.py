"""Values from outside the project. W-numbers are those of the trade reference in docs/checks.md.

P: input and output were read in the source.  C: computed there from the formula named.
"""

from __future__ import annotations

import pytest

from shop.bench import flow
from shop.bench.bias import emitter_bias, valve_idle
from shop.bench.discharge import dc_class, discharge, stored_energy
from shop.bench.intermittent import clean_trials, trials_needed
from shop.bench.limiter import lamp_limiter
from shop.bench.preferred_values import E6
from shop.bench.safety_tests import earth_limit, touch_current


def close(value, places=4):
    return pytest.approx(value, rel=10**-places)


@pytest.mark.parametrize(("volts", "name"), [(55, "ES1"), (61, "ES2"), (121, "ES3"), (60, "ES1")])
def test_w1_1_energy_classes_of_iec_62368_1_table_4(volts, name):
    assert dc_class(volts) == name


@pytest.mark.parametrize(
    ("volts", "microfarads"),
    [(100, 2000), (170, 692.05), (325, 189.35), (400, 125.0), (450, 98.77), (500, 80.0)],
)
def test_w1_3_smallest_capacitor_that_holds_10_joules(volts, microfarads):
    assert stored_energy(volts, microfarads * 1.001).shock_hazard
    assert not stored_energy(volts, microfarads * 0.99).shock_hazard


# Resistor maker's design tool (TT Electronics), P.
def test_w2_1_discharge_of_195_uf_from_1500_v():
    plan = discharge(1500, 195, 50, target_volts=320)
    assert plan.seconds == close(0.015062769, 6)
    assert plan.pulse_watts == close(45_000)
    assert plan.time_constant_s == close(0.00975)
    assert plan.energy_j == close(219.375, 6)


# OpenStax College Physics ch. 21 problem 71, P: 20 s time constant, 0.25 % left after 120 s.
def test_w2_2_bleeder_of_the_physics_problem():
    plan = discharge(1000, 2, 1e7, target_volts=2.5)
    assert plan.time_constant_s == close(20)
    assert plan.seconds == close(119.8, 3)


@pytest.mark.parametrize(
    ("inputs", "time_constant", "seconds", "energy", "pulse"),
    [
        ((75, 10_000, 100, 10), 1.000, 2.015, 28.125, 56.25),  # W2.3
        ((400, 330, 2200, 50), 0.726, 1.510, 26.4, 72.73),  # W2.4
        ((450, 47, 22_000, 50), 1.034, 2.272, 4.759, 9.205),  # W2.5
        ((63, 22_000, 47, 10), 1.034, 1.903, 43.659, 84.45),  # W2.6
        ((500, 100, 10_000, 50), 1.000, 2.3026, 12.5, 25.0),  # W2.7
    ],
)
def test_w2_3_to_w2_7_discharges(inputs, time_constant, seconds, energy, pulse):
    plan = discharge(*inputs)
    assert plan.time_constant_s == close(time_constant, 3)
    assert plan.seconds == close(seconds, 3)
    assert plan.energy_j == close(energy, 3)
    assert plan.pulse_watts == close(pulse, 3)


def test_w2_8_recovery_by_dielectric_absorption():
    plan = discharge(450, 100)
    assert plan.recovery_volts == close(67.5)
    assert dc_class(plan.recovery_volts) == "ES2"


# Consumer-audio service manuals: 0.75 V across 1.5 kohm with 0.15 uF is 0.5 mA, P.
@pytest.mark.parametrize(("volts", "milliamps"), [(0.75, 0.5018), (0.35, 0.2342)])
def test_w3_1_w3_2_touch_current_of_the_us_network(volts, milliamps):
    measured = touch_current(volts, hertz=60)
    assert measured.impedance_ohms == close(1494.6)
    assert measured.milliamps == close(milliamps, 3)


# DIN VDE 0701-0702:2008-06 as read in a test instrument manual.
@pytest.mark.parametrize(
    ("metres", "ohms"),
    [(2, 0.3), (5, 0.3), (5.1, 0.4), (12.5, 0.4), (13, 0.5), (20, 0.5), (60, 1.0)],
)
def test_w3_7_earth_resistance_by_cord_length(metres, ohms):
    assert earth_limit(metres).limit_ohms == close(ohms)


# IEC 60063 as read on a public page.
def test_e6_is_the_series_of_iec_60063():
    assert E6 == (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)


# Published 70 % tables for output valves, P but the last, C.
@pytest.mark.parametrize(
    ("volts", "rated", "milliamps"),
    [(500, 25, 35.0), (485, 25, 36.08), (485, 30, 43.30), (400, 14, 24.5), (460, 30, 45.65)],
)
def test_w6_1_to_w6_5_plate_current_at_70_percent(volts, rated, milliamps):
    assert valve_idle(volts, rated).milliamps == close(milliamps, 3)


@pytest.mark.parametrize(
    ("millivolts", "ohms", "internal", "milliamps"),
    [
        (26, 0.22, 0, 118.2),
        (26, 0.33, 0, 78.8),
        (26, 0.47, 0, 55.3),
        (26, 0.1, 0, 260.0),
        (26, 0.22, 0.05, 96.3),
        (10, 0.22, 0, 45.45),
    ],
)
def test_w6_6_to_w6_8_quiescent_current(millivolts, ohms, internal, milliamps):
    assert emitter_bias(millivolts, ohms, internal).milliamps == close(milliamps, 3)


# Encyclopaedia values for a 100 W 120 V lamp, P.
def test_w8_1_lamp_of_100_w_at_120_v():
    lamp = lamp_limiter(120, lamp_watts=100)
    assert lamp.ceiling_amps == close(0.833, 3)
    assert lamp.hot_ohms == close(144)
    assert lamp.cold_ohms == close(9.6)


@pytest.mark.parametrize(
    ("watts", "amps", "ohms"),
    [(40, 0.174, 1322.5), (60, 0.261, 881.7), (100, 0.435, 529), (150, 0.652, 352.7)],
)
def test_w8_2_lamps_at_230_v(watts, amps, ohms):
    lamp = lamp_limiter(230, lamp_watts=watts)
    assert lamp.ceiling_amps == close(amps, 2)
    assert lamp.hot_ohms == close(ohms, 3)


def test_w8_6_small_lamp_stays_below_the_published_250_ma():
    assert lamp_limiter(120, lamp_watts=25).ceiling_amps == close(0.208, 2)


# SciPy documentation of binomtest, P: 3 of 15, one-sided lower bound at 95 %.
def test_w11_3_lower_bound_of_three_in_fifteen():
    assert clean_trials(3, 15).rate_low == close(0.05684686759, 8)


def test_w11_4_trials_from_that_bound():
    assert clean_trials(3, 15).needed == 52


# Zero-failure sample sizes; 2995 was read as an output, the others computed.
@pytest.mark.parametrize(
    ("confidence", "reliability", "trials"),
    [
        (0.95, 0.50, 5),
        (0.95, 0.75, 11),
        (0.95, 0.80, 14),
        (0.95, 0.90, 29),
        (0.95, 0.95, 59),
        (0.95, 0.99, 299),
        (0.95, 0.999, 2995),
        (0.90, 0.90, 22),
        (0.90, 0.95, 45),
        (0.90, 0.99, 230),
        (0.99, 0.90, 44),
        (0.99, 0.95, 90),
        (0.99, 0.99, 459),
    ],
)
def test_w11_5_to_w11_7_zero_failure_sample_sizes(confidence, reliability, trials):
    assert trials_needed(1 - reliability, confidence) == trials


# Flow: J. D. C. Little and S. C. Graves, ch. 5 of "Building Intuition" (P), and arithmetic (C).
@pytest.mark.parametrize(
    ("inside", "rate", "stay"),
    [(160, 8, 20), (150, 50, 3), (24, 6 / 5, 20)],
    ids=["W12.1", "W12.2", "W12.3"],
)
def test_littles_law(inside, rate, stay):
    assert flow.days_to_finish(inside, rate) == pytest.approx(stay)
    assert flow.littles_law(rate, stay) == pytest.approx(inside)


def test_w12_4_requests_in_a_system():
    assert flow.littles_law(1000, 0.2) == pytest.approx(200)


def test_w12_5_lead_time_from_median_and_ninetieth():
    made = flow.lognormal_from_median(10, 21)
    assert made.sigma == pytest.approx(0.57894, abs=5e-6)
    assert made.mean == pytest.approx(11.824, abs=5e-4)
    assert made.percentile(85) == pytest.approx(18.222, abs=5e-4)
    assert made.percentile(95) == pytest.approx(25.916, abs=5e-4)


def test_w12_6_lead_time_from_mean_and_deviation():
    made = flow.lognormal_from_mean(14, 7)
    assert (made.mu, made.sigma) == pytest.approx((2.52749, 0.47238), abs=5e-6)
    assert made.median == pytest.approx(12.522, abs=5e-4)
    assert made.percentile(90) == pytest.approx(22.940, abs=5e-4)


def test_w12_7_nine_in_three_weeks():
    assert flow.chance_of_finishing([2, 3, 4], 9, 3) == pytest.approx(17 / 27, abs=0.005)
