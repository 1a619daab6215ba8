from __future__ import annotations

import pytest

from shop.bench import registry
from shop.bench.electrical import bias, valve_stages
from shop.bench.electrical.valve_stages import cathode_bias, heater_dropper, screen_dissipation


def test_cathode_bias_is_the_plate_dissipation_of_its_current():
    """The same stage, its current read across 1 ohm: what `plate-dissipation` says of it."""
    got = cathode_bias(18, 270, 338, 12, valves=2, screen_percent=8)
    other = bias.plate_dissipation(
        320, got.cathode_milliamps, 12, screen_percent=8, cathode_bias=True
    )
    assert got.plate_watts == pytest.approx(other.plate_watts)
    assert got.verdict == other.verdict == "right"


@pytest.mark.parametrize(
    ("volts", "verdict"), [(7.0, "cold"), (11.0, "right"), (15.0, "right"), (20.0, "hot")]
)
def test_the_verdict_follows_the_rating(volts, verdict):
    assert cathode_bias(volts, 330, 280, 12, screen_percent=5).verdict == verdict


def test_a_screen_within_and_beyond_its_rating():
    assert screen_dissipation(6, 1000, 300, 2).verdict == "within"
    assert screen_dissipation(7, 1000, 300, 2).verdict == "hot"
    assert screen_dissipation(7, 1000, 300, 2, cathode_volts=20).verdict == "within"


def test_the_chain_with_its_preferred_resistor_adds_up_to_the_supply():
    got = heater_dropper(230, [14, 12.6, 14, 45, 31], 100)
    amps = got.milliamps / 1000
    assert amps * got.preferred_ohms + amps * got.chain_volts / 0.1 == pytest.approx(230)


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        (
            "cathode-bias",
            {"cathode_volts": 90.0, "cathode_ohms": 270.0, "plate_volts": 80.0, "rated_watts": 12.0},
            "cathode_volts is 90 V; it must be below plate_volts",
        ),
        (
            "heater-dropper",
            {"supply_volts": 110.0, "heater_volts": [60.0, 50.0], "heater_milliamps": 100.0},
            "heater_volts add up to 110 V; they must stay below",
        ),
        (
            "screen-dissipation",
            {"drop_volts": 4.0, "resistor_ohms": 1000.0, "screen_volts": 100.0, "rated_watts": 2.0, "cathode_volts": 100.0},
            "cathode_volts is 100 V; it must be below screen_volts",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_gets_a_sentence(name, given, said):
    with pytest.raises(ValueError, match=said):
        registry.run(name, given)


def test_a_pair_sees_a_quarter_each_in_class_b():
    got = valve_stages.reflected_load(100, 3.16, 8)
    assert got.reflected_half_ohms == pytest.approx(got.reflected_ohms / 4)
