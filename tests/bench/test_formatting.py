"""Results in words, as a page shows them and a note keeps them."""

from __future__ import annotations

import pytest

from shop.bench import registry
from shop.bench.formatting import lines, note


@pytest.mark.parametrize(
    ("key", "value", "amount"),
    [
        ("energy_j", 28.125, "28.1 J"),
        ("hours", 27_428.6, "27\u202f429 h"),
        ("ohms", 1e8, "1e+08 ohm"),
        ("millivolts", -0.5, "-0.5 mV"),
        ("steps", 10, "10"),
        ("hold_hours", 4, "4 h"),
        ("shock_hazard", True, "yes"),
        ("leaking", False, "no"),
        ("level_volts", None, "not known"),
        ("verdict", "pass", "pass"),
        ("reading_minutes", (0.0, 10.0, 30.0), "0, 10, 30 min"),
        ("order", (1, 3, 2), "1, 3, 2"),
        ("hints", (), ""),
    ],
)
def test_a_figure_has_three_places_and_its_unit(key, value, amount):
    [line] = lines({key: value})
    assert (line.key, line.value, line.amount) == (key, value, amount)


def test_reasons_have_a_table_of_their_own():
    result = registry.run(
        "substitute-fuse", {"needed_amps": 2.0, "offered_amps": 2.0, "needed_speed": "T"}
    )
    assert [line.key for line in lines(result)] == ["verdict", "says"]


def test_a_note_says_what_came_out_and_from_what():
    assert note("mains-peak", {"rms_volts": 230.0}, {"peak_volts": 325.27}) == (
        "Mains peak: peak voltage 325 V. From r.m.s. voltage 230 V."
    )
