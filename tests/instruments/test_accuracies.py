from __future__ import annotations

import math

import pytest

from shop.instruments import accuracies
from shop.instruments.models import Accuracy


def ranges(*ends, **off):
    return [Accuracy(measures="dc-voltage", up_to=end, **off) for end in ends]


def test_the_smallest_range_that_holds_the_reading_counts():
    meter = ranges(60.0, 0.6, 6.0, range_percent=1.0)
    assert accuracies.range_of(meter, 0.6).up_to == 0.6
    assert accuracies.range_of(meter, 0.61).up_to == 6.0
    assert accuracies.range_of(meter, 61) is None
    assert accuracies.interval(meter, 5.0).half == pytest.approx(0.06)


def test_beyond_all_ranges_the_meter_says_only_that_it_is_more():
    found = accuracies.interval(ranges(6.0, 60.0, reading_percent=1.0), 90.0)
    assert found.least == pytest.approx(59.4)
    assert found.most == math.inf
    assert found.half is None


def test_without_counts_half_of_the_last_digit_counts():
    assert accuracies.interval(ranges(6.0, resolution=0.01), 1.0).half == pytest.approx(0.005)


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (0.6, "V", "600\u00a0mV"),
        (600, "V", "600\u00a0V"),
        (1000, "V", "1\u00a0kV"),
        (20e6, "ohm", "20\u00a0MΩ"),
        (0.01, "ohm", "10\u00a0mΩ"),
        (1e-4, "A", "100\u00a0µA"),
        (1e-9, "A", "0.001\u00a0µA"),
        (200, "C", "200\u00a0°C"),
        (0, "V", "0\u00a0V"),
    ],
)
def test_amounts_have_the_prefix_that_reads_best(value, unit, said):
    assert accuracies.amount(value, unit) == said


def test_words_name_what_the_data_sheet_names():
    both = Accuracy(
        measures="earth-resistance", up_to=2, reading_percent=2, counts=2, resolution=0.01
    )
    assert accuracies.words(both) == "2 % of the reading + 2 × 10\u00a0mΩ"
    assert (
        accuracies.words(Accuracy(measures="dc-voltage", up_to=2, resolution=0.1))
        == "half of 100\u00a0mV"
    )
