"""The accuracy of a meter, part by part."""

from __future__ import annotations

import pytest

from shop.bench.electrical.uncertainty import meter_accuracy


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ({"counts": 3}, "resolution is missing; with it counts, 3, become a value."),
        ({"range_percent": 0.5}, "full_range is missing; with it range_percent, 0.5 %"),
    ],
)
def test_a_part_whose_unit_is_missing_is_asked_for_and_not_counted_as_nothing(part, said):
    with pytest.raises(ValueError, match=said):
        meter_accuracy(5, reading_percent=1, **part)


def test_parts_with_their_unit_add_up():
    got = meter_accuracy(5, 1, counts=3, resolution=0.01, range_percent=0.5, full_range=10)
    assert got.give_or_take == pytest.approx(0.05 + 0.03 + 0.05)
