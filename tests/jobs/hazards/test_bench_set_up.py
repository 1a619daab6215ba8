"""Sign-offs of the set-up: they end with the cover, with work, off the bench and by the night."""

from __future__ import annotations

from typing import Any

import pytest

from tests.jobs.hazards.hands import refused, steps
from tests.jobs.hazards.units import class_ab, transformerless, valve_combo

SET_UP = {
    "limiter-first-power": class_ab(),
    "hot-chassis": transformerless(),
    "valve-load-connected": valve_combo(),
}
NIGHT = {"hours": 24}


def opened_with(hands: Any, key: str) -> int:
    number = hands.receive(facts=SET_UP[key])
    hands.opened(number)
    hands.record(number, "part_needed", spec="relay 24 V")
    assert hands.state(number, key) == "signed"
    return number


def cover(hands: Any, number: int) -> None:
    hands.cover(number, "on")
    hands.cover(number, "off")


def work(hands: Any, number: int) -> None:
    hands.record(number, "work_done", work="output-devices-replaced")


def part(hands: Any, number: int) -> None:
    hands.record(number, "part_fitted")


def shelf(hands: Any, number: int) -> None:
    hands.stage(number, "awaiting_parts")
    hands.stage(number, "opened")


def night(hands: Any, number: int) -> None:
    hands.wait(**NIGHT)
    hands.record(number, "note_added", text="good morning")


@pytest.mark.parametrize("ending", [cover, work, part, shelf, night], ids=lambda act: act.__name__)
def test_the_set_up_is_looked_at_again_after(hands, ending):
    key = "limiter-first-power"
    number = opened_with(hands, key)
    ending(hands, number)
    assert hands.state(number, key) == "ended"
    assert key in steps(refused(hands.power, number, "limited"))


def test_a_set_up_that_is_looked_at_again_lets_mains_on(hands):
    number = opened_with(hands, "hot-chassis")
    work(hands, number)
    hands.sign_all(number)
    assert hands.power(number, "limited").power == "limited"


@pytest.mark.parametrize("key", SET_UP)
def test_a_power_cycle_alone_does_not_end_the_set_up(hands, key):
    number = hands.receive(facts=SET_UP[key])
    hands.opened(number)
    hands.cover(number, "on")
    hands.on_limiter(number)
    hands.power(number, "isolated")
    assert hands.state(number, key) == "signed"
    hands.wait(minutes=20)
    assert hands.power(number, "limited").power == "limited"


@pytest.mark.parametrize("key", SET_UP)
def test_the_cover_ends_the_set_up_of_a_closed_unit(hands, key):
    number = hands.receive(facts=SET_UP[key])
    hands.sign_all(number)
    hands.cover(number, "off")
    assert hands.state(number, key) == "ended"


def test_an_hour_at_the_bench_ends_nothing(hands):
    number = hands.receive(facts=class_ab())
    hands.sign_all(number)
    hands.wait(hours=1)
    hands.record(number, "note_added", text="back from lunch")
    assert hands.state(number, "limiter-first-power") == "signed"


def test_a_night_keeps_what_is_true_of_the_unit(hands):
    number = hands.receive(facts=class_ab())
    hands.sign_all(number)
    hands.wait(**NIGHT)
    assert hands.state(number, "mains-voltage-match") == "signed"
    assert "limiter-first-power" in steps(refused(hands.power, number, "limited"))


def test_the_night_is_seen_by_the_gate_without_any_entry(hands):
    key = "hot-chassis"
    number = hands.receive(facts=SET_UP[key])
    hands.sign_all(number)
    hands.wait(**NIGHT)
    assert key in steps(refused(hands.power, number, "limited"))


def test_the_place_of_the_soak_is_looked_at_again_after_a_night(hands):
    number = hands.receive(facts=class_ab())
    hands.opened(number)
    hands.closed(number)
    hands.on_full(number)
    hands.sign_all(number)
    hands.power(number, "isolated")
    assert hands.state(number, "soak-place") == "signed"
    hands.wait(**NIGHT)
    hands.on_full(number, without=("soak-place",))
    assert "soak-place" in steps(refused(hands.stage, number, "soaking"))


def test_full_power_ends_the_limiter(hands):
    number = hands.receive(facts=class_ab())
    hands.on_limiter(number)
    assert hands.state(number, "limiter-first-power") == "signed"
    hands.sign_all(number)
    hands.power(number, "full")
    assert hands.state(number, "limiter-first-power") == "ended"


def test_full_power_ends_nothing_else_of_the_set_up(hands):
    number = hands.receive(facts=transformerless())
    hands.opened(number)
    hands.cover(number, "on")
    hands.on_full(number)
    assert hands.state(number, "hot-chassis") == "signed"


def test_back_to_the_limiter_after_full_power_asks_for_the_limiter(hands):
    number = hands.receive(facts=class_ab())
    hands.on_full(number)
    hands.power(number, "isolated")
    assert "limiter-first-power" in steps(refused(hands.power, number, "limited"))
    hands.sign_all(number)
    assert hands.power(number, "limited").power == "limited"
