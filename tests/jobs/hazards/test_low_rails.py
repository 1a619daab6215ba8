"""Two rails of 45 V are 90 V from one to the other; one limit says when a reservoir is empty."""

from __future__ import annotations

import pytest

from tests.jobs.hazards.hands import refused, steps
from tests.jobs.hazards.units import class_ab

# 60 V d.c. is the end of class ES1: IEC 62368-1:2018 Table 4, read second-hand.
MORE_THAN_60_BETWEEN_RAILS = [31.0]
LESS_THAN_60_BETWEEN_RAILS = [25.0]


@pytest.mark.parametrize("volts", MORE_THAN_60_BETWEEN_RAILS)
def test_rails_either_side_of_earth_are_discharged(hands, volts):
    number = hands.receive(facts=class_ab(unit__rail_volts=volts))
    assert "discharge-reservoirs" in hands.listed(number)
    hands.sign_all(number, without=("discharge-reservoirs", "verify-dead"))
    hands.cover(number, "off")
    refusal = refused(hands.record, number, "work_done", work="relay-cleaned")
    assert "discharge-reservoirs" in steps(refusal)


@pytest.mark.parametrize("volts", LESS_THAN_60_BETWEEN_RAILS)
def test_low_rails_need_no_discharge(hands, volts):
    number = hands.receive(facts=class_ab(unit__rail_volts=volts))
    assert "discharge-reservoirs" not in hands.listed(number)


def test_one_figure_says_when_it_is_empty(hands):
    number = hands.receive(facts=class_ab())
    [left] = hands.step(number, "discharge-reservoirs").readings
    highest = {one.quantity: one for one in hands.step(number, "verify-dead").readings}
    assert left.high == highest["highest_volts"].high
