from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import contacts


@given(st.floats(0, 1000), st.floats(0, 1000))
def test_a_worse_contact_never_helps_the_damping(one, other):
    low, high = sorted((one, other))
    good, bad = (contacts.contact_resistance(mv, source_ohms=0.04) for mv in (low, high))
    assert bad.damping_factor <= good.damping_factor


@pytest.mark.parametrize(
    ("pull_in", "release", "verdict", "words"),
    [
        (15.0, 3.0, "pass", "It pulls in and lets go as it should."),
        (19.2, 3.0, "fail", "Renew it: it pulls in at 80 %, later than 75 %."),
        (15.0, 0.6, "fail", "Renew it: it lets go at 2.5 %, lower than 4 %."),
    ],
)
def test_what_is_said_of_a_24_volt_coil(pull_in, release, verdict, words):
    judged = contacts.relay_coil(24, pull_in, release)
    assert (judged.verdict, judged.says) == (verdict, words)


def test_a_relay_lets_go_below_where_it_pulls_in():
    with pytest.raises(ValueError, match="release_volts is 15 V; it must be below pull_in_volts"):
        contacts.relay_coil(24, 15, 15)
