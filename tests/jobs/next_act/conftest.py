from __future__ import annotations

from datetime import UTC, datetime

import pytest
import time_machine

# A Monday, an hour after the shop has opened.
MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)


@pytest.fixture
def clock():
    """A clock that stands still but for what the hands let pass."""
    with time_machine.travel(MORNING, tick=False) as travelling:
        yield travelling
