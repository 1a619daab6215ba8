from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.audio import levels


@given(st.floats(1, 100), st.floats(0.5, 0.999))
def test_damping_and_power_agree_with_ohm(volts, share):
    found = levels.damping(volts, volts * share, 8)
    assert found.source_ohms * found.damping_factor == pytest.approx(8)
    assert levels.output_power(volts, 8).watts == pytest.approx(volts**2 / 8)
    assert levels.volts_for(volts**2 / 8, 8).rms_volts == pytest.approx(volts)
