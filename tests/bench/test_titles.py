"""Every calculation has words of the trade, and says which of its figures comes first."""

from __future__ import annotations

import pytest

from shop.bench import registry
from shop.bench.alarms import alarm_of
from shop.bench.formatting import lines
from shop.bench.titles import WORDS
from shop.bench.units import typeset
from tests.bench.test_every_calculation import EXAMPLES


def test_each_has_its_words_and_no_words_are_left_over():
    own = {name for name, one in registry.CALCULATIONS.items() if one.own_title}
    assert set(WORDS) | own == set(registry.CALCULATIONS)
    assert not set(WORDS) & own
    titles = [one.title for one in registry.CALCULATIONS.values()]
    assert len(set(titles)) == len(titles)


@pytest.mark.parametrize("name", registry.CALCULATIONS)
def test_words_are_said_of_the_page(name):
    words = registry.CALCULATIONS[name].words
    assert not words.gives.startswith("Return")
    assert words.gives.endswith(".")
    assert len(words.title) <= 45


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_comes_first_is_a_figure_of_the_result(name):
    result = registry.run(name, EXAMPLES[name])
    words = registry.CALCULATIONS[name].words
    assert words.first
    assert set(words.first_by_key) <= set(result)


class TestAlarms:
    @pytest.mark.parametrize(
        ("name", "given", "word"),
        [
            ("discharge", {"volts": 420.0, "microfarads": 100.0}, "DANGER"),
            ("discharge", {"volts": 12.0, "microfarads": 100.0}, ""),
            ("stored-energy", {"volts": 400.0, "microfarads": 10.0}, "DANGER"),
            ("stored-energy", {"volts": 90.0, "microfarads": 100_000.0}, "WARNING"),
            ("mains-peak", {"rms_volts": 230.0}, "DANGER"),
            (
                "bleeder",
                {"volts": 121.0, "microfarads": 1.0, "target_volts": 10.0, "seconds": 9.0},
                "DANGER",
            ),
            (
                "bleeder",
                {"volts": 120.0, "microfarads": 1.0, "target_volts": 10.0, "seconds": 9.0},
                "",
            ),
            ("earth-bond", {"ohms": 0.5}, "DANGER"),
            ("earth-bond", {"ohms": 0.05}, ""),
            ("volts-for", {"watts": 200.0, "load_ohms": 8.0}, "WARNING"),
            ("volts-for", {"watts": 50.0, "load_ohms": 8.0}, ""),
            (
                "warm-up",
                {"watts": 90.0, "sink_kelvin_per_watt": 0.6, "kilograms": 1.0, "seconds": 60.0},
                "CAUTION",
            ),
        ],
    )
    def test_a_dangerous_result_says_so_and_a_harmless_one_does_not(self, name, given, word):
        said = alarm_of(name, given, registry.run(name, given))
        assert said.get("signal_word", "") == word
        assert not word or said["text"].endswith(".")


def test_a_figure_stands_beside_its_sign():
    (line,) = lines({"series_ohms": 100.0})
    assert (line.name, line.figure, line.unit) == ("series resistor", "100", "Ω")
    (several,) = lines({"reading_minutes": [0.0, 10.0]})
    assert (several.figure, several.unit) == ("0, 10", "min")
    assert typeset("V") == "V"
