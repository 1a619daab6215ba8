from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import bias


@given(st.floats(0.01, 5), st.floats(10, 200))
def test_a_target_set_is_the_current_that_the_meter_gives_back(ohms, millivolts):
    target = bias.bias_target(ohms, target_millivolts=millivolts)
    assert bias.emitter_bias(target.reading_millivolts, ohms).milliamps == pytest.approx(
        target.milliamps
    )
