from __future__ import annotations

import pytest

from tests.benchmarks import heating

pytestmark = pytest.mark.slow


def test_bands_hold_what_they_say_and_few_are_called_settled_wrongly():
    tallies = heating.population(1200)
    both = tallies["both"]
    assert 0.93 <= both.held / both.runs <= 0.97
    called = sum(
        t.bad[word] for kind, t in tallies.items() if kind != "both" for word in heating.GOOD
    )
    assert called < 0.01 * 1200
    assert sum(both.bad[word] for word in heating.GOOD) < 0.01 * both.runs


def test_after_three_time_constants_most_get_their_verdict():
    words = heating.three_time_constants(150)
    assert words["will-settle"] + words["has-settled"] >= 120
    assert words["will-not-settle"] == 0
    too_hot = heating.three_time_constants(60, final=78)
    assert too_hot["will-not-settle"] >= 48
