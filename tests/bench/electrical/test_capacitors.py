from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import capacitors


@given(st.floats(20, 100), st.floats(20, 100))
def test_a_cooler_capacitor_never_lives_shorter(one, other):
    low, high = sorted((one, other))
    cool = capacitors.electrolytic_life(2000, 105, low).hours
    assert cool >= capacitors.electrolytic_life(2000, 105, high).hours


@given(st.floats(20, 100), st.floats(1, 24))
def test_one_temperature_all_day_is_its_own_equivalent(celsius, hours):
    mixed = capacitors.mixed_duty(2000, 105, [celsius], [hours])
    assert mixed.equivalent_celsius == pytest.approx(celsius)
    assert mixed.hours == pytest.approx(capacitors.electrolytic_life(2000, 105, celsius).hours)


@given(st.lists(st.tuples(st.floats(20, 100), st.floats(0.5, 4)), min_size=2, max_size=6))
def test_the_mean_temperature_always_flatters(parts):
    mixed = capacitors.mixed_duty(2000, 105, [t for t, _ in parts], [h for _, h in parts])
    assert mixed.equivalent_celsius >= mixed.mean_celsius - 1e-9


@pytest.mark.parametrize("hours", [[0.0, 0.0], [20.0, 5.0]])
def test_a_day_has_some_hours_and_at_most_24(hours):
    with pytest.raises(ValueError, match=r"hours_per_day add up to .* more than 0, at most 24"):
        capacitors.mixed_duty(2000, 105, [40.0, 60.0], hours)


@pytest.mark.parametrize(
    ("used", "age", "verdict"), [(85, 0, "good"), (86, 0, "too-hot"), (86, 30, "renew")]
)
def test_a_capacitor_above_its_rating_is_not_good_however_new(used, age, verdict):
    found = capacitors.electrolytic_life(2000, 85, used, hours_per_day=1, age_years=age)
    assert found.verdict == verdict
