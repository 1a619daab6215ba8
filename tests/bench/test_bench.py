from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.electrical.discharge import discharge
from shop.bench.electrical.energy import stored_energy
from shop.bench.electrical.limiter import lamp_limiter
from shop.bench.electrical.preferred_values import E6, at_least
from shop.bench.electrical.safety_tests import earth_limit
from shop.bench.statistics.intermittent import clean_trials, trials_needed

volts = st.floats(1, 5000)
microfarads = st.floats(0.01, 1e6)


@given(volts, volts, microfarads)
def test_more_volts_never_hold_less_energy(one, other, capacity):
    low, high = sorted((one, other))
    assert (
        stored_energy(low, capacity, meant=True).energy_j
        <= stored_energy(high, capacity, meant=True).energy_j
    )


@given(volts, microfarads, st.floats(1, 1e6), st.floats(1, 1e6))
def test_a_larger_resistor_is_never_faster(start, capacity, one, other):
    low, high = sorted((one, other))
    assert (
        discharge(start, capacity, low, meant=True).seconds
        <= discharge(start, capacity, high, meant=True).seconds
    )


@given(volts, microfarads)
def test_the_proposed_resistor_is_a_preferred_value_and_starts_gently(start, capacity):
    plan = discharge(start, capacity, meant=True)
    mantissa = plan.ohms / 10 ** math.floor(math.log10(plan.ohms * (1 + 1e-9)))

    assert any(mantissa == pytest.approx(step) for step in E6)
    assert plan.start_amps <= 0.5 * (1 + 1e-6)


@given(volts, microfarads)
def test_doubling_the_volts_gives_four_times_the_energy(start, capacity):
    once = stored_energy(start, capacity, meant=True)
    twice = stored_energy(2 * start, capacity, meant=True)
    assert twice.energy_j == pytest.approx(4 * once.energy_j)


def test_what_is_below_the_target_needs_no_time():
    assert discharge(8, 1000, 100, target_volts=10).seconds == 0


@given(st.floats(1e-6, 1), st.floats(1e-6, 1))
def test_a_rarer_fault_never_needs_fewer_trials(one, other):
    low, high = sorted((one, other))
    assert trials_needed(low) >= trials_needed(high)


@given(st.integers(0, 200), st.integers(0, 200))
def test_clean_trials_are_planned_from_a_bound_below_the_rate_seen(faults, clean):
    plan = clean_trials(faults, faults + clean)
    assert plan.needed >= 1
    assert plan.rate_low <= plan.rate
    if faults:
        assert (1 - plan.rate_low) ** plan.needed <= 0.05 + 1e-9 or plan.needed == 1


@given(st.floats(1e-6, 1e9))
def test_a_preferred_value_is_reached_and_not_overshot(value):
    chosen = at_least(value)
    assert value * (1 - 1e-9) <= chosen <= value * 1.6


def test_lamps_grow_with_the_unit():
    assert [lamp_limiter(230, w).lamp_watts for w in (10, 30, 31, 100, 101)] == [
        40, 40, 100, 100, 150,
    ]  # fmt: skip


@given(st.floats(0, 200), st.floats(0, 200))
def test_a_longer_lead_never_has_a_stricter_limit(one, other):
    low, high = sorted((one, other))
    assert earth_limit(low).limit_ohms <= earth_limit(high).limit_ohms <= 1.0


@pytest.mark.parametrize(
    ("name", "arguments", "sentence"),
    [
        ("discharge", {"volts": 0, "microfarads": 100}, "volts is 0 V; it must be from 0.1"),
        ("discharge", {"volts": -5, "microfarads": 100}, "volts is -5 V"),
        ("discharge", {"volts": math.nan, "microfarads": 1}, "volts is nan; it must be a number"),
        ("discharge", {"volts": 400, "microfarads": 5e6}, "microfarads is 5e+06 uF"),
        ("discharge", {"volts": 75}, "discharge also needs microfarads"),
        ("discharge", {"watts": 1}, "watts is not an input of discharge"),
        ("lamp-limiter", {"mains_volts": 12}, "mains_volts is 12 V; it must be from 90"),
        ("clean-trials", {"faults": 4, "trials": 3}, "faults is 4; it must be at most trials"),
        ("clean-trials", {"faults": 0.5, "trials": 3}, "faults is 0.5; it must be a whole number"),
        ("valve-idle", {"plate_volts": 1}, "plate_volts is 1 V"),
        ("earth-limit", {"cord_metres": math.inf}, "cord_metres is inf; it must be a number of m"),
    ],
)
def test_bad_input_gets_a_sentence(name, arguments, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        registry.run(name, arguments)


def test_a_plan_that_cannot_be_worked_out_says_why():
    assert registry.plan_result("discharge", {"volts": 0.0, "microfarads": 1.0})[0] is None
    result, why_not = registry.plan_result("discharge", {"volts": 75.0, "microfarads": 10000.0})
    assert result["energy_j"] == pytest.approx(28.125)
    assert why_not == ""
