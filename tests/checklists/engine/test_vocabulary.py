from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.engine.vocabulary import VOCABULARY, FactError, accept, accept_one
from tests.checklists.engine.strategies import fact_sets


def test_whole_numbers_become_decimals_where_a_decimal_is_meant():
    assert accept({"unit.rail_volts": 60}) == {"unit.rail_volts": 60.0}
    assert isinstance(accept({"unit.rail_volts": 60})["unit.rail_volts"], float)


def test_lists_lose_repeats_and_keep_their_order():
    assert accept_one("findings", ["joint-cracked", "dust-heavy", "joint-cracked"]) == [
        "joint-cracked",
        "dust-heavy",
    ]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("unit.kind", "toaster"),
        ("unit.kind", 3),
        ("unit.kind", ["mixer"]),
        ("unit.kind", None),
        ("unit.has_laser", "yes"),
        ("unit.has_laser", 1),
        ("unit.year", 1988.0),
        ("unit.year", True),
        ("unit.year", 10**30),
        ("unit.rail_volts", True),
        ("unit.rail_volts", "60"),
        ("unit.rail_volts", -1),
        ("unit.rail_volts", math.nan),
        ("unit.rail_volts", math.inf),
        ("unit.rail_volts", 10**400),
        ("findings", "joint-cracked"),
        ("findings", ["joint-cracked", "gremlins"]),
        ("findings", [["joint-cracked"]]),
        ("findings", ["joint-cracked"] * 101),
    ],
)
def test_a_wrong_value_is_named_with_what_would_be_right(name, value):
    with pytest.raises(FactError) as caught:
        accept({name: value})

    [(field, sentence)] = caught.value.problems
    assert field == name
    assert sentence.startswith(f"{name} is ")
    assert "must be" in sentence
    assert len(sentence) < 1200


def test_an_unknown_key_is_named():
    with pytest.raises(FactError, match=r"'unit\.colour' is not a fact"):
        accept({"unit.colour": "red"})


def test_every_fault_is_told_at_once():
    with pytest.raises(FactError) as caught:
        accept({"unit.kind": "toaster", "unit.year": "old", "unit.has_laser": True})

    assert [field for field, _ in caught.value.problems] == ["unit.kind", "unit.year"]


@given(fact_sets())
def test_what_was_accepted_is_accepted_again(facts):
    assert accept(facts) == facts


@given(st.sampled_from(sorted(VOCABULARY)), st.text() | st.integers() | st.floats() | st.none())
def test_no_value_makes_it_fall_over(name, value):
    try:
        taken = accept_one(name, value)
    except FactError as error:
        told = str(error)
    else:
        told = f"{name} was taken as {taken}"
    assert name in told


@pytest.mark.parametrize(
    ("name", "taken", "refused"),
    [
        ("unit.valve_bias", "cathode", "class-a"),
        ("unit.has_valves", True, "yes"),
        ("unit.idle_watts", 100, -1),
        ("unit.rail_total_volts", 90, 10_001),
        ("unit.live_sinks", False, 0),
        ("unit.plate_watts", 25, 501),
        ("unit.lead_metres", 12.5, 201),
        ("unit.lead_mm2", 1.5, 36),
    ],
)
def test_what_a_unit_is_made_of_takes_its_own_kind_of_value(name, taken, refused):
    assert accept_one(name, taken) == taken
    with pytest.raises(FactError):
        accept_one(name, refused)
