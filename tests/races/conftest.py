from __future__ import annotations

import pytest

from tests.factories import PersonFactory
from tests.helpers import Bench


@pytest.fixture
def bench():
    return Bench(PersonFactory(username="bea", role="technician"))


@pytest.fixture
def other():
    return Bench(PersonFactory(username="lou", role="owner"))
