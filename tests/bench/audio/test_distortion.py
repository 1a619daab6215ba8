from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shop.bench.audio import distortion


@given(st.floats(1, 99.9))
def test_clipping_there_and_back(percent):
    measured = distortion.clipped_sine(percent).thd_f_percent
    assume(1e-4 <= measured <= 40)
    assert distortion.clip_level(measured).clip_percent == pytest.approx(percent, rel=1e-5)
