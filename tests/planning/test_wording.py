from __future__ import annotations

from datetime import date

import pytest

from shop.planning.wording import days_late


@pytest.mark.parametrize(
    ("day", "said"), [(9, "1 day late"), (7, "3 days late"), (10, "0 days late")]
)
def test_how_late_a_day_is(day, said):
    assert days_late(date(2025, 3, day), date(2025, 3, 10)) == said
