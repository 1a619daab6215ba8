from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical.part_specs import PART_CLASSES
from shop.bench.electrical.substitution import Candidate, ranked, substitute

CAPACITOR = {"microfarads": 4700, "volts": 63, "rated_celsius": 85, "dielectric": "electrolytic"}


RESISTOR = {"ohms": 100, "watts": 0.5, "fusible": "no"}
FUSE = {"amps": 2, "volts": 250, "speed": "T", "breaking": "H", "standard": "IEC 60127", "size": "5x20"}  # fmt: skip
RELAY = {"coil_volts": 24, "contacts": "2C", "contact_amps": 8, "contact_volts": 30}
X2 = {"safety_class": "X2", "microfarads": 0.1, "mains_volts": 275}
BIPOLAR = {
    "technology": "bipolar", "polarity": "NPN", "limit_volts": 140, "limit_amps": 12,
    "limit_watts": 100, "safe_area_amps": 1, "package": "TO-3", "pinout": "BCE",
}  # fmt: skip
MOSFET = {
    "polarity": "N", "limit_volts": 200, "limit_amps": 9, "limit_watts": 75, "gate_limit_volts": 20,
    "threshold_volts": 3, "input_picofarads": 1200, "package": "TO-220", "pinout": "GDS",
}  # fmt: skip
FILM = {
    "microfarads": 0.1,
    "volts": 250,
    "dielectric": "film",
    "supply": "ac",
    "safety_class": "none",
}
DIODE = {"reverse_volts": 400, "amps": 1, "technology": "fast", "package": "axial"}
ZENER = {"zener_volts": 12, "watts": 0.5, "tolerance_percent": 5, "package": "axial"}
THERMAL = {"open_celsius": 115, "amps": 2, "volts": 250, "supply": "ac", "kind": "one-shot"}
NTC = {"use": "inrush", "cold_ohms": 10, "amps": 3}
VARISTOR = {"continuous_volts": 275, "supply": "ac", "joules": 40, "surge_amps": 2500}
OPTO = {
    "isolation_volts": 5000, "insulation": "reinforced", "output": "transistor",
    "transfer_percent": 100, "package": "DIP-4", "pinout": "the same",
}  # fmt: skip
BELT = {
    "section": "square",
    "inner_millimetres": 70,
    "width_millimetres": 1.2,
    "thickness_millimetres": 1.2,
}
VALVE = {
    "type": "the same", "base": "octal", "pinout": "the same", "heater_volts": 6.3,
    "heater_amps": 0.9, "plate_watts": 25, "plate_volts": 500,
}  # fmt: skip
LAMP = {"volts": 8, "milliamps": 250, "kind": "filament", "base": "fuse-type"}
ROLLER = {"outer_millimetres": 13, "width_millimetres": 8, "bore_millimetres": 2}
WHOLE = {
    "capacitor": FILM, "resistor": RESISTOR, "fuse": FUSE, "relay": RELAY, "power-transistor": BIPOLAR,
    "mosfet": MOSFET, "suppression-capacitor": X2, "diode": DIODE, "zener": ZENER,
    "thermal-fuse": THERMAL, "ntc": NTC, "varistor": VARISTOR, "optocoupler": OPTO, "belt": BELT,
    "valve": VALVE, "lamp": LAMP, "pinch-roller": ROLLER,
}  # fmt: skip


@pytest.mark.parametrize("part_class", PART_CLASSES)
def test_a_vital_value_that_either_side_leaves_out_never_fits(part_class):
    whole = WHOLE[part_class]
    assert substitute(part_class, whole, whole).verdict == "fits"
    for parameter in PART_CLASSES[part_class].parameters:
        if parameter.name in whole and parameter.is_vital(whole, whole):
            rest = {name: value for name, value in whole.items() if name != parameter.name}
            assert substitute(part_class, rest, whole).verdict != "fits", parameter.name
            assert substitute(part_class, whole, rest).verdict == "no", parameter.name
            assert substitute(part_class, rest, rest).verdict != "fits", parameter.name


@pytest.mark.parametrize(
    ("part_class", "needed", "offered", "verdict", "says"),
    [
        ("fuse", {"amps": 2}, FUSE | {"speed": "F", "volts": 32, "breaking": "L"}, "with-care", "Voltage of the needed part is not known"),
        ("fuse", {"amps": 2, "speed": "T"}, FUSE, "with-care", "Breaking of the needed part is not known"),
        ("fuse", FUSE | {"size": "other"}, FUSE | {"size": "other"}, "with-care", "drawings side by side"),
        ("fuse", FUSE | {"supply": "dc"}, FUSE | {"supply": "ac"}, "no", "cannot stand in"),
        ("suppression-capacitor", {"microfarads": 0.0022, "mains_volts": 250}, X2 | {"microfarads": 0.0022}, "no", "Safety class of the needed part is not known"),
        ("capacitor", {"microfarads": 470, "dielectric": "electrolytic"}, {"microfarads": 470, "volts": 6.3, "dielectric": "electrolytic"}, "with-care", "Voltage of the needed part"),
        ("resistor", {"ohms": 100, "watts": 0.5}, RESISTOR, "with-care", "Fusible of the needed part is not known"),
        ("resistor", RESISTOR | {"fusible": "yes"}, RESISTOR | {"fusible": "yes", "watts": 2}, "no", "it must be the same"),
        ("resistor", RESISTOR | {"fusible": "yes"}, RESISTOR, "no", "Fusible no for yes"),
        ("power-transistor", BIPOLAR, {k: v for k, v in BIPOLAR.items() if k != "safe_area_amps"}, "no", "Safe area of the offered part"),
        ("power-transistor", {k: v for k, v in BIPOLAR.items() if k != "safe_area_amps"}, BIPOLAR, "with-care", "Safe area of the needed part"),
        ("power-transistor", BIPOLAR | {"pinout": "other"}, BIPOLAR | {"pinout": "other"}, "with-care", "drawings side by side"),
        ("power-transistor", BIPOLAR | {"technology": "MOSFET", "polarity": "N", "pinout": "GDS"}, BIPOLAR | {"technology": "MOSFET", "polarity": "N", "pinout": "GDS"}, "with-care", "Gate limit of the needed part"),
        ("relay", RELAY | {"contact_volts": 60}, RELAY | {"contact_volts": 250}, "with-care", "Contact supply of the needed part"),
        ("relay", RELAY | {"contact_volts": 60, "contact_supply": "dc"}, RELAY | {"contact_volts": 250, "contact_supply": "ac"}, "no", "Contact supply ac for dc"),
        ("relay", RELAY | {"coil_supply": "dc"}, RELAY | {"coil_supply": "ac"}, "no", "Coil supply ac for dc"),
        ("relay", RELAY, RELAY | {"coil_supply": "ac"}, "with-care", "Coil supply of the needed part"),
        ("capacitor", FILM, FILM | {"supply": "dc"} | {"volts": 400}, "no", "look up its a.c. rating"),
        ("capacitor", FILM | {"supply": "dc"}, FILM | {"supply": "ac"}, "fits", "every value"),
        ("varistor", VARISTOR, VARISTOR | {"supply": "dc"}, "no", "Supply dc for ac"),
        ("varistor", VARISTOR | {"supply": "dc"}, VARISTOR, "no", "Supply ac for dc"),
        ("optocoupler", OPTO, OPTO | {"pinout": "other"}, "no", "pins are in other places"),
        ("valve", VALVE, VALVE | {"pinout": "other"}, "no", "pins are in other places"),
        ("fuse", FUSE | {"supply": "ac"}, FUSE | {"supply": "dc"}, "with-care", "rated for d.c."),
        ("capacitor", FILM | {"safety_class": "X2"}, FILM, "no", "Safety class none for X2"),
        ("capacitor", {"microfarads": 0.1, "volts": 250, "dielectric": "film"}, {"microfarads": 0.1, "volts": 275, "dielectric": "film"}, "with-care", "Safety class of the needed part"),
        ("capacitor", {"microfarads": 1e-4, "volts": 50, "dielectric": "mica"}, {"microfarads": 1.2e-4, "volts": 500, "dielectric": "mica"}, "no", "it must be the same"),
        ("mosfet", MOSFET, MOSFET | {"gate_limit_volts": 12}, "no", "Gate limit 12 V for 20 V"),
        ("mosfet", MOSFET, MOSFET | {"threshold_volts": 4.5}, "with-care", "idle current anew"),
        ("mosfet", MOSFET, MOSFET | {"input_picofarads": 3000}, "no", "must stay under"),
        ("diode", DIODE, DIODE | {"technology": "standard"}, "no", "cannot stand in"),
        ("diode", DIODE, DIODE | {"reverse_volts": 1000, "technology": "ultrafast"}, "fits", "every value"),
        ("zener", ZENER, ZENER | {"zener_volts": 13}, "no", "it must be the same"),
        ("thermal-fuse", THERMAL, THERMAL | {"open_celsius": 130}, "no", "it must be the same"),
        ("thermal-fuse", THERMAL, THERMAL | {"kind": "self-resetting"}, "no", "cannot stand in"),
        ("ntc", NTC, NTC | {"use": "sensing"}, "no", "cannot stand in"),
        ("varistor", VARISTOR, VARISTOR | {"continuous_volts": 385}, "no", "1 to 1.25 times"),
        ("varistor", VARISTOR, VARISTOR | {"continuous_volts": 250}, "no", "1 to 1.25 times"),
        ("optocoupler", OPTO, OPTO | {"insulation": "basic"}, "no", "cannot stand in"),
        ("optocoupler", {k: v for k, v in OPTO.items() if k != "insulation"}, OPTO, "no", "Insulation of the needed part"),
        ("belt", BELT, BELT | {"inner_millimetres": 66}, "no", "it must be the same"),
        ("valve", VALVE, VALVE | {"type": "other"}, "with-care", "drawings side by side"),
        ("valve", VALVE, VALVE | {"heater_amps": 1.5}, "no", "0.9 to 1.2 times"),
        ("lamp", LAMP, LAMP | {"milliamps": 60}, "no", "it must be the same"),
        ("pinch-roller", ROLLER, ROLLER | {"bore_millimetres": 2.5}, "no", "it must be the same"),
    ],
)  # fmt: skip
def test_what_the_parts_leave_out_and_what_they_are_for(part_class, needed, offered, verdict, says):
    found = substitute(part_class, needed, offered)
    assert found.verdict == verdict, found
    assert says in found.says


@pytest.mark.parametrize(
    ("part_class", "needed", "offered", "verdict", "says"),
    [
        ("capacitor", CAPACITOR, CAPACITOR | {"rated_celsius": 105}, "fits", "every value"),
        ("capacitor", CAPACITOR, CAPACITOR | {"volts": 50}, "no", "Voltage 50 V for 63 V: it must reach"),
        ("capacitor", CAPACITOR, CAPACITOR | {"microfarads": 6800}, "with-care", "inrush"),
        ("capacitor", CAPACITOR, CAPACITOR | {"microfarads": 3300}, "no", "it must be 0.95 to 2 times"),
        ("capacitor", FILM, FILM | {"dielectric": "electrolytic"}, "no", "cannot stand in"),
        ("capacitor", CAPACITOR, {"microfarads": 4700, "volts": 63, "dielectric": "electrolytic"}, "with-care", "not known; look it up"),
        ("capacitor", CAPACITOR, {"microfarads": 4700, "dielectric": "electrolytic"}, "no", "not known, and it must be"),
        ("resistor", RESISTOR | {"fusible": "yes"}, RESISTOR, "no", "Fusible no for yes"),
        ("resistor", RESISTOR, RESISTOR | {"ohms": 103}, "with-care", "3 % off"),
        ("fuse", {"amps": 2, "speed": "T"}, {"amps": 2.5, "speed": "T"}, "no", "it must be the same"),
        ("fuse", {"amps": 2, "breaking": "H"}, {"amps": 2, "breaking": "L"}, "no", "cannot stand in"),
        ("fuse", {"amps": 2, "standard": "IEC 60127"}, {"amps": 2, "standard": "UL 248"}, "no", "cannot stand in"),
        ("relay", {"coil_volts": 24, "contacts": "2C"}, {"coil_volts": 12, "contacts": "2C"}, "no", "must be the same"),
        ("relay", RELAY | {"coil_ohms": 660}, RELAY | {"coil_ohms": 1440}, "with-care", "measure pull-in"),
        ("power-transistor", BIPOLAR, BIPOLAR | {"limit_volts": 230}, "fits", "every value"),
        ("power-transistor", {"polarity": "NPN"}, {"polarity": "PNP"}, "no", "cannot stand in"),
        ("power-transistor", BIPOLAR, {"limit_watts": 150}, "no", "Safe area"),
        ("suppression-capacitor", {"safety_class": "Y2", "microfarads": 0.0047}, {"safety_class": "Y1", "microfarads": 0.0068}, "no", "must be 0.8"),
        ("suppression-capacitor", X2, X2 | {"safety_class": "X1"}, "fits", "every value"),
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
            st.sampled_from([word for word in parameter.words if word != "other"])
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
    judged = substitute("capacitor", CAPACITOR | asked, CAPACITOR | offered)
    assert judged.verdict == verdict
    assert words in judged.says
