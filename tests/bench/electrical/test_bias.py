from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.electrical import bias


@given(st.floats(0.01, 5), st.floats(10, 200))
def test_a_target_set_is_the_current_that_the_meter_gives_back(ohms, millivolts):
    target = bias.bias_target(ohms, target_millivolts=millivolts)
    assert bias.emitter_bias(target.reading_millivolts, ohms).milliamps == pytest.approx(
        target.milliamps
    )


def test_the_rating_of_a_valve_is_asked_for_and_never_assumed():
    with pytest.raises(ValueError, match="valve-idle also needs rated_watts"):
        registry.run("valve-idle", {"plate_volts": 450.0})


def test_idle_power_is_between_the_rails():
    assert bias.emitter_bias(22, 0.22, rail_total_volts=90).idle_watts == pytest.approx(9.0)
    assert bias.emitter_bias(22, 0.22).idle_watts is None


def test_a_class_a_stage_is_set_by_its_sheet():
    assert bias.bias_target(0.33, target_millivolts=430).milliamps == pytest.approx(1303, rel=1e-3)
