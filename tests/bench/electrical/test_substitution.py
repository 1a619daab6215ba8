from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical.part_specs import PART_CLASSES
from shop.bench.electrical.substitution import Candidate, ranked, substitute

CAPACITOR = {"microfarads": 4700, "volts": 63, "rated_celsius": 85, "dielectric": "electrolytic"}


@pytest.mark.parametrize(
    ("part_class", "needed", "offered", "verdict", "says"),
    [
        ("capacitor", CAPACITOR, CAPACITOR | {"rated_celsius": 105}, "fits", "every value"),
        ("capacitor", CAPACITOR, CAPACITOR | {"volts": 50}, "no", "Voltage 50 V for 63 V: it must reach"),
        ("capacitor", CAPACITOR, CAPACITOR | {"microfarads": 6800}, "with-care", "inrush"),
        ("capacitor", CAPACITOR, CAPACITOR | {"microfarads": 3300}, "no", "it must be 0.95 to 2 times"),
        ("capacitor", {"dielectric": "film"}, {"dielectric": "electrolytic"}, "no", "cannot stand in"),
        ("capacitor", CAPACITOR, {"microfarads": 4700, "volts": 63, "dielectric": "electrolytic"}, "with-care", "not known; look it up"),
        ("capacitor", CAPACITOR, {"microfarads": 4700, "dielectric": "electrolytic"}, "no", "not known, and it must be"),
        ("resistor", {"ohms": 0.22, "fusible": "yes"}, {"ohms": 0.22, "fusible": "no"}, "no", "Fusible no for yes"),
        ("resistor", {"ohms": 100, "watts": 0.5}, {"ohms": 103, "watts": 0.5}, "with-care", "3 % off"),
        ("fuse", {"amps": 2, "speed": "T"}, {"amps": 2.5, "speed": "T"}, "no", "it must be the same"),
        ("fuse", {"amps": 2, "breaking": "H"}, {"amps": 2, "breaking": "L"}, "no", "cannot stand in"),
        ("fuse", {"amps": 2, "standard": "IEC 60127"}, {"amps": 2, "standard": "UL 248"}, "no", "cannot stand in"),
        ("relay", {"coil_volts": 24, "contacts": "2C"}, {"coil_volts": 12, "contacts": "2C"}, "no", "must be the same"),
        ("relay", {"coil_volts": 24, "coil_ohms": 660}, {"coil_volts": 24, "coil_ohms": 1440}, "with-care", "measure pull-in"),
        ("power-transistor", {"polarity": "NPN", "limit_volts": 140}, {"polarity": "NPN", "limit_volts": 230}, "fits", "every value"),
        ("power-transistor", {"polarity": "NPN"}, {"polarity": "PNP"}, "no", "cannot stand in"),
        ("power-transistor", {"limit_watts": 100, "safe_area_amps": 1}, {"limit_watts": 150}, "no", "Safe area"),
        ("suppression-capacitor", {"safety_class": "Y2", "microfarads": 0.0047}, {"safety_class": "Y1", "microfarads": 0.0068}, "no", "must be 0.8"),
        ("suppression-capacitor", {"safety_class": "X2", "microfarads": 0.1}, {"safety_class": "X1", "microfarads": 0.1}, "fits", "every value"),
    ],
)  # fmt: skip
def test_substitutions(part_class, needed, offered, verdict, says):
    found = substitute(part_class, needed, offered)
    assert found.verdict == verdict, found
    assert says in found.says


@pytest.mark.parametrize("part_class", PART_CLASSES)
@given(data=st.data())
def test_a_part_may_always_stand_in_for_itself(part_class, data):
    spec = {}
    for parameter in PART_CLASSES[part_class].parameters:
        drawn = (
            st.sampled_from(parameter.words)
            if parameter.words
            else st.floats(max(parameter.low, 1e-6), parameter.high)
        )
        spec[parameter.name] = data.draw(drawn, label=parameter.name)
    assert substitute(part_class, spec, spec).verdict == "fits"


def test_candidates_come_by_verdict_then_stock_then_price():
    offered = [
        Candidate("too small", CAPACITOR | {"volts": 50}, 9, 0.1),
        Candidate("dear, here", CAPACITOR, 3, 4.0),
        Candidate("cheap, to order", CAPACITOR, 0, 2.0),
        Candidate("cheap, here", CAPACITOR, 1, 3.0),
        Candidate("with care", CAPACITOR | {"microfarads": 6800}, 9, 0.2),
    ]
    names = [one.candidate.name for one in ranked("capacitor", CAPACITOR, offered)]
    assert names == ["cheap, here", "dear, here", "cheap, to order", "with care", "too small"]


@pytest.mark.parametrize(
    ("spec", "sentence"),
    [
        ({"farads": 1}, "needed farads is not known of a capacitor"),
        ({"volts": "many"}, "needed volts is 'many'; it must be a number of V"),
        ({"volts": -1}, "needed volts is -1 V"),
        ({"dielectric": "paper"}, "needed dielectric is 'paper'; it must be one of"),
        ({}, "Nothing of the needed part is known"),
    ],
)
def test_a_spec_that_cannot_be_gets_a_sentence(spec, sentence):
    with pytest.raises(ValueError, match=sentence):
        substitute("capacitor", spec, {})


@pytest.mark.parametrize(
    ("asked", "offered", "verdict", "words"),
    [
        ({"esr_milliohms": 100}, {"esr_milliohms": 10}, "with-care", "a regulator may ring"),
        ({"esr_milliohms": 100}, {"esr_milliohms": 120}, "no", "it must stay under that"),
        ({"esr_milliohms": 100}, {"esr_milliohms": 50}, "fits", "every value"),
        ({"volts": 25}, {"volts": 100}, "with-care", "far more voltage"),
        ({"volts": 25}, {"volts": 63}, "with-care", "far more voltage"),
        ({"volts": 25}, {"volts": 50}, "fits", "every value"),
        ({"volts": "25,0"}, {"volts": " 35 "}, "fits", "every value"),
    ],
)
def test_more_is_not_always_better(asked, offered, verdict, words):
    judged = substitute("capacitor", asked, offered)
    assert judged.verdict == verdict
    assert words in judged.says
