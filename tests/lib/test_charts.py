from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from shop.lib.charts import Scale, polyline


@given(st.floats(-1e3, 1e3), st.floats(0.01, 1e3), st.floats(-2e3, 2e3))
def test_a_scale_keeps_every_value_on_the_drawing(low, span, value):
    scale = Scale(low, low + span, 10, 200)
    assert 10 <= scale.at(value) <= 200
    ticks = scale.ticks()
    assert 1 <= len(ticks) <= 11
    assert all(10 <= place <= 200 for _, place in ticks)


def test_points_of_a_line():
    assert polyline([0, 1.5], [2, 3]) == "0,2 1.5,3"
    assert Scale(3, 3, 10, 20).ticks() == [(3, 10)]
