"""Contacts on alternating and direct current."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical.contact_ratings import contact_rating


@given(st.floats(1, 400), st.floats(1, 400), st.floats(0.2, 50))
def test_more_direct_volts_are_never_broken_better(one, other, rated):
    low, high = sorted((one, other))
    weaker, stronger = (contact_rating(v, 0.1, rated).breaks_amps for v in (high, low))
    assert weaker <= stronger <= rated


@pytest.mark.parametrize(
    ("given", "verdict"),
    [
        ({"volts": 60, "amps": 7.5}, "no"),
        ({"volts": 24, "amps": 7.5}, "good"),
        ({"volts": 230, "amps": 9, "current": "ac"}, "good"),
        ({"volts": 230, "amps": 11, "current": "ac"}, "no"),
        ({"volts": 400, "amps": 0.1, "current": "ac"}, "no"),
        ({"volts": 300, "amps": 0.01}, "no"),
        ({"volts": 60, "amps": 9, "rated_dc_volts": 80}, "good"),
        ({"volts": 24, "amps": 10, "rated_dc_volts": 5}, "no"),
        ({"volts": 28, "amps": 9, "rated_dc_volts": 24}, "no"),
        ({"volts": 60, "amps": 0.51, "rated_amps": 1}, "no"),
        ({"volts": 60, "amps": 0.49, "rated_amps": 1}, "good"),
    ],
)
def test_whether_it_breaks(given, verdict):
    assert contact_rating(**given).verdict == verdict


def test_what_is_said():
    assert contact_rating(60, 7.5).says == "At 60 V d.c. it breaks 1.5 A, and not 7.5 A."
    assert contact_rating(30, 5).says == "At 30 V d.c. it breaks 10 A."
