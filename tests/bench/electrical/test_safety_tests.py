from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import safety_tests
from shop.bench.electrical.safety_tests import earth_limit


@given(st.floats(1, 1e5), st.floats(1, 1e5))
def test_the_weighting_never_rises_with_frequency(one, other):
    low, high = sorted((one, other))
    assert (
        safety_tests.weighted_touch_current(0.1, high).weighting
        <= safety_tests.weighted_touch_current(0.1, low).weighting + 1e-12
    )


@given(st.floats(0, 200), st.floats(0, 200))
def test_a_longer_lead_never_has_a_stricter_limit(one, other):
    low, high = sorted((one, other))
    assert earth_limit(low).limit_ohms <= earth_limit(high).limit_ohms <= 1.0


def test_a_heating_element_lowers_the_limit_only_in_class_i_after_repair():
    limits = [
        safety_tests.insulation_resistance(
            0.5, protective_class, practice, heating_element=True
        ).limit_megohms
        for protective_class, practice in (
            ("I", "after-repair"),
            ("II", "after-repair"),
            ("I", "iec"),
        )
    ]
    assert limits == [0.3, 2.0, 2.0]


@given(st.floats(0, 200), st.floats(0, 200), st.floats(1.6, 35))
def test_a_longer_thick_lead_never_has_a_stricter_limit(one, other, area):
    low, high = sorted((one, other))
    assert 0.1 <= earth_limit(low, area).limit_ohms <= earth_limit(high, area).limit_ohms <= 1.0
