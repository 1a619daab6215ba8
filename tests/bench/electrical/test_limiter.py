from __future__ import annotations

from shop.bench.electrical.limiter import lamp_limiter


def test_lamps_grow_with_the_unit():
    assert [lamp_limiter(230, w).lamp_watts for w in (10, 30, 31, 100, 101)] == [
        40, 40, 100, 100, 150,
    ]  # fmt: skip
