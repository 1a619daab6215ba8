from __future__ import annotations

import pytest

from shop.instruments.answers import WrongAnswer
from shop.instruments.models import Accuracy
from shop.instruments.settling import READINGS, SECONDS, Settling

# 0.5 % of the reading and two of the last digit, up to 6 V: 1.000 V may be off by 7 mV.
RANGES = [
    Accuracy(measures="dc-voltage", up_to=6.0, reading_percent=0.5, counts=2, resolution=0.001)
]


def settled(values, apart=0.5):
    seen = Settling(RANGES)
    for place, value in enumerate(values):
        found = seen.take(place * apart, value)
        if found is not None:
            return place, found
    return None


def test_five_over_two_seconds_that_agree_are_taken_and_the_last_counts():
    assert settled([1.0, 1.001, 1.002, 1.001, 1.003, 9]) == (4, 1.003)


def test_five_in_half_a_second_are_too_soon():
    place, _ = settled([1.0] * 40, apart=0.1)
    assert place * 0.1 >= SECONDS
    assert settled([1.0] * 15, apart=0.1) is None


def test_four_are_too_few_however_long_they_take():
    assert settled([1.0] * (READINGS - 1), apart=5) is None


def test_a_reading_that_creeps_by_more_than_its_accuracy_never_settles():
    assert settled([1.0 + 0.002 * n for n in range(40)]) is None


def test_one_that_creeps_slower_does_and_one_jump_begins_anew():
    assert settled([1.0 + 0.001 * n for n in range(9)]) == (4, 1.004)
    place, value = settled([1.0, 1.0, 1.0, 1.5, 1.0, 1.0, 1.0, 1.0, 1.0])
    assert (place, value) == (8, 1.0)


def test_beyond_its_ranges_nothing_is_taken_and_what_stood_before_does_not_count():
    seen = Settling(RANGES)
    for n in range(4):
        seen.take(n, 1.0)
    with pytest.raises(WrongAnswer, match="beyond its ranges"):
        seen.take(4, 6.2)
    assert seen.take(5, 1.0) is None


def test_as_many_answers_without_a_value_as_would_do_are_enough():
    seen = Settling(RANGES)
    for _ in range(READINGS):
        assert not seen.hopeless
        seen.nothing()
    assert seen.hopeless
