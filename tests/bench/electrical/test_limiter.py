from __future__ import annotations

import pytest

from shop.bench.electrical.limiter import lamp_limiter


def test_lamps_grow_with_the_unit():
    assert [lamp_limiter(230, w).lamp_watts for w in (10, 30, 31, 100, 101)] == [
        40, 40, 100, 100, 150,
    ]  # fmt: skip


def test_a_lamp_is_nearly_twice_what_the_unit_draws_at_idle():
    given = lamp_limiter(230, rated_watts=30, idle_watts=100)
    assert (given.lamp_watts, given.idle_watts) == (200, 100)


@pytest.mark.parametrize(
    ("stage", "rated_watts", "drawn"),
    [
        ("valve-push-pull", 30, 100),
        ("valve-push-pull", 15, 70),
        ("valve-single-ended", 16, 90),
        ("class-a", 50, 240),
        ("class-ab", 120, 45),
        ("class-d", 500, 30),
        ("none", 0, 25),
        ("none", 0, 8),
    ],
)
def test_behind_its_lamp_a_healthy_unit_keeps_two_thirds_of_the_mains(stage, rated_watts, drawn):
    lamp = lamp_limiter(230, rated_watts=rated_watts, output_stage=stage).lamp_watts
    left = lamp_limiter(230, lamp_watts=lamp, idle_watts=drawn).unit_volts
    assert left is not None
    assert left > 0.67 * 230


@pytest.mark.parametrize(
    ("stage", "rated_watts", "drawn"),
    [
        # Two valves of 25 W that run away, and 45 W of heaters and the rest.
        ("valve-push-pull", 45, 220),
        # 700 ohm: a transformer of 15 VA with its secondary shorted, seen from the mains.
        ("none", 0, 230**2 / 700),
        # A class AB stage of 80 W whose bias trimmer is open.
        ("class-ab", 80, 170),
    ],
)
def test_behind_its_lamp_a_sick_unit_is_left_with_less(stage, rated_watts, drawn):
    lamp = lamp_limiter(230, rated_watts=rated_watts, output_stage=stage).lamp_watts
    left = lamp_limiter(230, lamp_watts=lamp, idle_watts=drawn).unit_volts
    assert left is not None
    assert left < 0.67 * 230


def test_the_lamp_for_a_valve_stage_is_larger_than_for_transistors_of_the_same_power():
    def lamp(stage):
        return lamp_limiter(230, rated_watts=30, output_stage=stage).lamp_watts

    assert lamp("valve-push-pull") > lamp("class-ab") >= 40
    with pytest.raises(ValueError, match="output_stage"):
        lamp("steam")
