from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from shop.lib.phrases import counted, span

NOW = datetime(2025, 3, 10, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("number", "words", "said"),
    [
        (0, ("row",), "0 rows"),
        (1, ("row",), "1 row"),
        (1800, ("row",), "1\u202f800 rows"),
        ([7], ("job",), "1 job"),
        (2, ("job waits", "jobs wait"), "2 jobs wait"),
        (1, ("job waits", "jobs wait"), "1 job waits"),
    ],
)
def test_a_count_has_its_word(number, words, said):
    assert counted(number, *words) == said


@pytest.mark.parametrize(
    ("passed", "said"),
    [
        (timedelta(seconds=-5), "less than a minute"),
        (timedelta(seconds=59), "less than a minute"),
        (timedelta(minutes=1), "1 minute"),
        (timedelta(hours=30), "1 day"),
        (timedelta(days=6), "6 days"),
        (timedelta(days=13), "1 week, 6 days"),
        (timedelta(days=14), "2 weeks"),
    ],
)
def test_a_span_is_said_as_people_say_it(passed, said):
    assert span(NOW - passed, NOW) == said
