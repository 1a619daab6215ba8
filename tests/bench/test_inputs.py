"""What is typed into a calculation: taken as it is, or named in a sentence."""

from __future__ import annotations

import pytest

from shop.bench import inputs


@pytest.mark.parametrize(
    ("act", "sentence"),
    [
        (lambda: inputs.within("volts", "12", 0, 50, "V"), "volts is '12'; it must be a number of V"),
        (lambda: inputs.within("share", None, 0, 1, ""), "share is None; it must be a number."),
        (lambda: inputs.within("volts", True, 0, 50, "V"), "volts is True; it must be a number"),
        (lambda: inputs.within("volts", 60, 0, 50, "V"), "volts is 60 V; it must be from 0 to 50 V"),
        (lambda: inputs.whole("count", 1.5, 0, 9), "count is 1.5; it must be a whole number"),
        (lambda: inputs.one_of("mains", "110", ("120", "230")), "it must be one of 120, 230"),
        (lambda: inputs.series("minutes", "1, 2", low=0, high=9, unit="min"), "a list of numbers of min"),
        (lambda: inputs.series("minutes", 5, low=0, high=9, unit="min"), "a list of numbers of min"),
        (lambda: inputs.series("minutes", [], low=0, high=9, unit="min"), "has 0 values; it takes 1 to 10\u202f000"),
        (lambda: inputs.series("minutes", [1, 99], low=0, high=9, unit="min"), "minutes 2 is 99 min"),
        (lambda: inputs.same_length("minutes", [1], "celsius", []), "minutes has 1 values and celsius has 0"),
        (lambda: inputs.rising("minutes", [0, 5, 5], "min"), "minutes goes from 5 to 5 min; it must go forward"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_named(act, sentence):
    with pytest.raises(ValueError, match=sentence):
        act()


def test_what_fits_comes_back_as_a_number():
    assert inputs.within("volts", 12, 0, 50, "V") == 12.0
    assert inputs.whole("count", 3.0, 0, 9) == 3
    assert inputs.series("minutes", (0, 1), low=0, high=9, unit="min") == [0.0, 1.0]
    assert inputs.rising("minutes", [0, 1, 2], "min") is None
