"""Fuses under pulses, and what they may break."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import fuse_duty


@given(st.floats(0.1, 100), st.floats(0.1, 100), st.integers(1, 100_000), st.integers(1, 100_000))
def test_more_pulses_want_a_stronger_fuse(amps, milliseconds, one, other):
    few, many = sorted((one, other))
    weak, strong = (fuse_duty.pulse_duty(amps, milliseconds, pulses=n) for n in (few, many))
    assert weak.needed_ampere_squared_seconds <= strong.needed_ampere_squared_seconds


def test_a_fuse_stands_the_pulse_or_does_not():
    needed = fuse_duty.pulse_duty(30, 2).needed_ampere_squared_seconds
    verdicts = [
        fuse_duty.pulse_duty(30, 2, melting_ampere_squared_seconds=needed * share).verdict
        for share in (0.99, 1.0)
    ]
    assert verdicts == ["too-weak", "stands-it"]
    assert fuse_duty.pulse_duty(30, 2).verdict == "not-compared"


@given(st.floats(10, 400), st.floats(0.1, 100), st.floats(1, 10_000))
def test_what_rushes_in_burns_as_much_as_it_stores(volts, ohms, microfarads):
    found = fuse_duty.inrush(volts, ohms, microfarads)
    assert found.inrush_ampere_squared_seconds * ohms == pytest.approx(found.energy_j)
    as_pulse = fuse_duty.pulse_duty(found.peak_amps, found.time_constant_milliseconds, "decay") if (
        found.peak_amps < 1e5 and 1e-3 <= found.time_constant_milliseconds <= 1e5
    ) else None  # fmt: skip
    if as_pulse:
        assert as_pulse.pulse_ampere_squared_seconds == pytest.approx(
            found.inrush_ampere_squared_seconds
        )


def rated(**more):
    given = {"rated_amps": 2, "fuse_volts": 250, "circuit_volts": 230, "loop_ohms": 10}
    return fuse_duty.fuse_rating(**(given | more))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"circuit_volts": 251}, "it is marked 250 V, the circuit has 251 V"),
        ({"loop_ohms": 1.0}, "a short drives 230 A, it breaks 35 A"),
        ({"circuit_current": "dc", "circuit_volts": 60}, "its volts are for alternating current"),
        ({"fuse_current": "dc", "breaking_amps": 1000}, "Look for its a.c. rating"),
        ({"kind": "other"}, "its breaking capacity is not known"),
        ({"fuse_current": "dc", "circuit_current": "dc", "fuse_volts": 80, "circuit_volts": 60}, "not known"),
        ({"fuse_current": "dc", "circuit_current": "dc", "fuse_volts": 50, "circuit_volts": 60, "breaking_amps": 100}, "it is marked 50 V"),
    ],
)  # fmt: skip
def test_a_fuse_that_may_not(more, words):
    judged = rated(**more)
    assert judged.verdict == "no"
    assert words in judged.says


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"loop_ohms": 1.0, "kind": "H"},
        {"fuse_current": "dc", "circuit_current": "dc", "circuit_volts": 60, "breaking_amps": 100},
    ],
)
def test_a_fuse_that_may(more):
    assert rated(**more).verdict == "fits"


@pytest.mark.parametrize("kind", ["L", "H", "E", "UL-250"])
def test_a_class_tested_at_250_volts_says_nothing_of_400(kind):
    usual = {"rated_amps": 2, "fuse_volts": 600, "loop_ohms": 20, "kind": kind}
    above = fuse_duty.fuse_rating(circuit_volts=400, **usual)
    assert (above.verdict, above.breaking_amps) == ("no", None)
    assert "breaking capacity is not known" in above.says
    assert fuse_duty.fuse_rating(circuit_volts=250, **usual).verdict == "fits"
    assert fuse_duty.fuse_rating(circuit_volts=400, breaking_amps=100, **usual).verdict == "fits"
