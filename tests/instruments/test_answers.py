"""SCPI-99 volume 1, 7.2.1.4 and 7.2.1.5: 9.9E37 is infinity, 9.91E37 not a number (as manuals of
instruments cite it); volume 2: MOHM is megohm, MHZ megahertz. Other spellings: common practice."""

from __future__ import annotations

import pytest

from checklists.engine.words import MEASURED, METERED
from shop.instruments import answers, scpi
from shop.instruments.answers import WrongAnswer
from shop.lib.refusals import BadInput


@pytest.mark.parametrize(
    ("answer", "unit", "value"),
    [
        ("+1.23456000E-03\r\n", "V", 0.00123456),
        ("-0.5", "V", -0.5),
        (" 12 ", "ohm", 12.0),
        (".5E1", "A", 5.0),
        ("1.5 mV", "V", 0.0015),
        ("1.5,VDC", "V", 1.5),
        ("3 V AC", "V", 3.0),
        ("2 MOHM", "ohm", 2e6),
        ("2 MA", "A", 0.002),
        ("4.7 kOhm", "ohm", 4700.0),
        ("1 MHZ", "Hz", 1e6),
        ("23.5 CEL", "C", 23.5),
        ("10 uA", "A", 1e-5),
        ("60 W", "W", 60.0),
    ],
)
def test_a_number_with_or_without_its_unit(answer, unit, value):
    assert answers.read(answer, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("answer", "unit", "word"),
    [
        ("9.9E37", "V", "overload"),
        ("-9.90000000E+37", "V", "overload"),
        ("9.91E37", "V", "nonsense"),
        ("1e99", "V", "nonsense"),
        ("OL", "ohm", "overload"),
        ("O.L", "ohm", "overload"),
        ("-OVLD", "V", "overload"),
        ("1.2 A", "V", "unit"),
        ("1.2 mOHM", "V", "unit"),
        ("70 F", "C", "unit"),
        ("300 K", "C", "unit"),
        ("1.2 mCEL", "C", "unit"),
        ("", "V", "nonsense"),
        ("ready", "V", "nonsense"),
        ("nan", "V", "nonsense"),
        ("-", "V", "nonsense"),
        ("1.2,3.4", "V", "unit"),
        ("1.2 1.3", "V", "unit"),
        ("١٢", "V", "nonsense"),
        ("1" * 70, "V", "nonsense"),
        ("0x10", "V", "unit"),
    ],
)
def test_what_is_no_reading_is_none(answer, unit, word):
    with pytest.raises(WrongAnswer) as told:
        answers.read(answer, unit)
    assert told.value.word == word
    assert str(told.value).endswith(".")


def test_everything_that_may_be_asked_has_a_command_and_a_unit_that_is_understood():
    assert set(scpi.STANDARD) == METERED
    for measures in METERED:
        unit = MEASURED[measures][1]
        assert answers.read(f"1 {unit}", unit) == 1.0


@pytest.mark.parametrize(
    "address",
    [
        "TCPIP::192.168.1.20::5025::SOCKET",
        "TCPIP0::meter.local::inst0::INSTR",
        "TCPIP::10.0.0.4::INSTR",
        "USB0::0x1234::0x5678::SN42::INSTR",
        "ASRL/dev/ttyUSB0::INSTR",
        "ASRL3::INSTR",
    ],
)
def test_an_address_of_a_meter_is_taken(address):
    assert scpi.resource(f" {address} ") == address


@pytest.mark.parametrize(
    "typed",
    ["", "192.168.1.20", "TCPIP::a b::1::SOCKET", "ASRL/dev/../etc/passwd::INSTR", "GPIB::1::INSTR",
     "TCPIP::x::5025::SOCKET\nTCPIP", "ASRL/etc/passwd::INSTR"],
)  # fmt: skip
def test_any_other_is_refused_with_an_example(typed):
    with pytest.raises(BadInput, match="write it like TCPIP::"):
        scpi.resource(typed)


@pytest.mark.parametrize("typed", ["*RST", "MEAS:VOLT:DC?\n*RST", "?", "é?", "A" * 90 + "?"])
def test_a_command_is_a_query_in_one_line(typed):
    with pytest.raises(BadInput, match="must be a query"):
        scpi.taken({"dc-voltage": typed})


def test_what_a_tester_proves_cannot_be_set_up():
    with pytest.raises(BadInput, match="choose from the list"):
        scpi.taken({"insulation-resistance": "MEAS:RES?"})


def test_the_standards_own_command_is_kept_as_none():
    assert scpi.taken({"dc-voltage": "MEAS:VOLT:DC?", "power": "READ:POW?"}) == {
        "dc-voltage": "",
        "power": "READ:POW?",
    }
