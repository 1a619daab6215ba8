from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench import registry
from shop.bench.electrical import wires
from shop.bench.electrical.markings import capacitor_code, colour_code, date_code, resistor_code
from shop.bench.electrical.preferred_values import E24, E96
from tests.bench.test_every_calculation import sentence_of

COLOURS = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]


@given(st.sampled_from(E24), st.integers(-1, 7))
def test_bands_painted_from_a_value_are_read_back(step, power):
    first, second = divmod(round(step * 10), 10)
    multiplier = "gold" if power == -1 else COLOURS[power]
    got = colour_code([COLOURS[first], COLOURS[second], multiplier, "gold"])
    assert got.ohms == pytest.approx(step * 10 * 10.0**power)
    assert got.lowest_ohms == pytest.approx(0.95 * got.ohms)
    assert got.says == "A preferred value."


def test_bands_from_the_wrong_end_are_doubted():
    """Gold first is refused; a value that is made by nobody is told."""
    with pytest.raises(ValueError, match="bands 1 is 'gold'; it must be one of black"):
        colour_code(["gold", "red", "violet", "yellow"])
    assert "other end" in colour_code(["white", "white", "red", "gold"]).says
    with pytest.raises(ValueError, match="begins with black"):
        colour_code(["black", "red", "red", "gold"])


def test_six_bands_tell_the_coefficient_and_spelling_does_not_count():
    got = colour_code(["Brown", "black", "BLACK", "brown", "brown", "red"])
    assert (got.ohms, got.tolerance_percent) == (1000, 1)
    assert got.coefficient_parts_per_million_per_kelvin == 50
    assert colour_code(["gray", "red", "red", "gold"]).ohms == 8200
    assert colour_code(["red", "purple", "red", "gold"]).ohms == 2700


@given(st.integers(1, 96), st.sampled_from("ZYXABCDEF"))
def test_each_code_of_two_digits_and_a_letter(place, letter):
    power = {"Z": -3, "Y": -2, "X": -1, "A": 0, "B": 1, "C": 2, "D": 3, "E": 4, "F": 5}[letter]
    got = resistor_code(f"{place:02d}{letter}")
    assert got.ohms == pytest.approx(E96[place - 1] * 100 * 10.0**power)
    assert got.tolerance_percent == 1


@pytest.mark.parametrize(
    ("code", "ohms", "tolerance"),
    [("470K", 470e3, None), ("47R", 47, None), ("103J", 10e3, 5), ("4k7J", 4700, 5), ("R005", 0.005, None), ("000", 0, None), ("97C", None, None)],
)  # fmt: skip
def test_letters_that_could_mean_two_things(code, ohms, tolerance):
    if ohms is None:
        with pytest.raises(ValueError, match="code is '97C'; it must be such as"):
            resistor_code(code)
        return
    got = resistor_code(code)
    assert (got.ohms, got.tolerance_percent) == (pytest.approx(ohms), tolerance)


@pytest.mark.parametrize(
    ("code", "picofarads", "lowest", "highest"),
    [("104K", 1e5, 0.9e5, 1.1e5), ("103Z", 1e4, 8e3, 18e3), ("5p6D", 5.6, 5.1, 6.1), ("µ47", 470e3, None, None), ("μ47", 470e3, None, None), ("104M", 1e5, 0.8e5, 1.2e5)],
)  # fmt: skip
def test_capacitors_and_their_band(code, picofarads, lowest, highest):
    got = capacitor_code(code)
    assert got.picofarads == pytest.approx(picofarads)
    assert (got.lowest_picofarads, got.highest_picofarads) == (
        (None, None) if lowest is None else (pytest.approx(lowest), pytest.approx(highest))
    )


@pytest.mark.parametrize("code", ["G5", "M0", "8554", "", "85", "850"])
def test_a_date_that_is_none_gets_a_sentence(code):
    with pytest.raises(ValueError, match="it must be such as M5 or 8523"):
        date_code(code)


@given(st.text(max_size=12), st.sampled_from(["resistor-code", "capacitor-code", "date-code"]))
def test_any_text_is_read_or_refused_with_the_field(text, name):
    said = sentence_of(name, {"code": text})
    assert not said or said.startswith("code is ")


class TestWires:
    def test_three_gauges_down_is_half_the_area_within_a_hundredth(self):
        for number in range(-3, 38):
            one, other = wires.wire_gauge(number), wires.wire_gauge(number + 3)
            assert one.square_millimetres / other.square_millimetres == pytest.approx(2, rel=0.01)

    @given(st.integers(-3, 40))
    def test_a_gauge_measured_with_a_caliper_is_found_again(self, number):
        name = wires.wire_gauge(number).nearest_awg
        again = wires.wire_gauge(diameter_millimetres=wires.wire_gauge(number).diameter_millimetres)
        assert again.nearest_awg == name
        assert name == (str(number) if number > 0 else "0" * (1 - number))

    @pytest.mark.parametrize("given_", [{}, {"awg": 20.0, "swg": 20.0}])
    def test_it_takes_exactly_one(self, given_):
        with pytest.raises(ValueError, match="it takes exactly one"):
            registry.run("wire-gauge", given_)

    def test_a_lead_to_a_loudspeaker(self):
        """5 m of 2.5 mm2: 79.8 mohm; 8 ohm over that is 100, and 0.086 dB are lost."""
        got = wires.wire_drop(5, 2.5, 5, load_ohms=8)
        assert got.lead_ohms == pytest.approx(0.0798)
        assert got.damping_factor == pytest.approx(100.25, rel=1e-3)
        assert got.loss_decibels == pytest.approx(0.0862, rel=1e-2)

    def test_a_size_that_the_standard_has_not_gets_a_sentence(self):
        with pytest.raises(
            ValueError, match=r"square_millimetres is 1\.2 mm2; it must be one of 0\.5"
        ):
            wires.wire_drop(5, 1.2, 5)
