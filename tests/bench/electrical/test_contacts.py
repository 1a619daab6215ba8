from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import contacts


@given(st.floats(0, 1000), st.floats(0, 1000))
def test_a_worse_contact_never_helps_the_damping(one, other):
    low, high = sorted((one, other))
    good, bad = (contacts.contact_resistance(mv, source_ohms=0.04) for mv in (low, high))
    assert bad.damping_factor <= good.damping_factor
