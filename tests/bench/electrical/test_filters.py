"""Networks held against their own transfer functions, worked out branch by branch."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from shop.bench import registry
from shop.bench.electrical.filters import corner, crossover, impedance, snubber, zobel
from shop.bench.electrical.pads import pad
from shop.bench.electrical.resistors import divider


def _ladder(hertz, series, shunt, load):
    """Return the transfer of a ladder (impedances as functions of s), from the load backwards."""
    s = 2j * math.pi * hertz
    volts, amps = 1.0 + 0j, 1.0 / load + 0j
    for place in reversed(range(len(series))):
        if place < len(shunt):
            amps += volts / shunt[place](s)
        volts += amps * series[place](s)
    return 1 / volts


def _branches(parts, load, hertz):
    coil = [lambda s, one=one: s * one * 1e-3 for one in parts.low_millihenries]
    across = [lambda s, one=one: 1 / (s * one * 1e-6) for one in parts.low_microfarads]
    low = _ladder(hertz, coil, across, load)
    blocks = [lambda s, one=one: 1 / (s * one * 1e-6) for one in parts.high_microfarads]
    choke = [lambda s, one=one: s * one * 1e-3 for one in parts.high_millihenries]
    return low, _ladder(hertz, blocks, choke, load)


@pytest.mark.parametrize(
    ("alignment", "order"),
    [("Butterworth", 1), ("Butterworth", 2), ("Butterworth", 3), ("Butterworth", 4),
     ("Linkwitz-Riley", 2), ("Linkwitz-Riley", 4)],
)  # fmt: skip
def test_each_branch_is_the_filter_of_its_name(alignment, order):
    parts = crossover(2500, 6, order, alignment)
    # Linkwitz-Riley is a Butterworth of half the order, twice over.
    half = order // 2 if alignment == "Linkwitz-Riley" else order
    twice = 2 if alignment == "Linkwitz-Riley" else 1
    for hertz in (200, 1000, 2500, 4000, 12_000):
        got = _branches(parts, 6, hertz)
        for ours, kind in zip(got, ("low", "high"), strict=True):
            top, bottom = signal.butter(half, 2 * math.pi * 2500, kind, analog=True)
            _, want = signal.freqs(top, bottom, [2 * math.pi * hertz])
            assert ours == pytest.approx(want[0] ** twice, rel=1e-5)


def test_linkwitz_riley_of_the_second_order_adds_up_flat_with_one_driver_turned():
    parts = crossover(1800, 8)
    for hertz in np.geomspace(50, 18_000, 20):
        low, high = _branches(parts, 8, hertz)
        assert abs(low - high) == pytest.approx(1, rel=1e-9)
    assert "Turn one driver round" in parts.says


def test_linkwitz_riley_has_even_orders_alone():
    with pytest.raises(ValueError, match="order is 3; Linkwitz-Riley takes 2 or 4"):
        crossover(1800, 8, 3)


@given(st.floats(1, 20), st.floats(0.05, 5), st.floats(20, 20_000))
def test_a_driver_with_its_zobel_is_a_resistor(ohms, millihenries, hertz):
    got = zobel(ohms, millihenries)
    s = 2j * math.pi * hertz
    coil = ohms + s * millihenries * 1e-3
    beside = got.ohms + 1 / (s * got.microfarads * 1e-6)
    assert coil * beside / (coil + beside) == pytest.approx(ohms, rel=1e-9)


@given(st.floats(10, 900), st.floats(1e-4, 1000))
def test_two_of_four_give_the_rest_whichever_they_are(ohms, microfarads):
    first = corner(ohms, microfarads)
    for pair in (
        {"ohms": first.ohms, "hertz": first.hertz},
        {"microfarads": first.microfarads, "hertz": first.hertz},
        {"millihenries": first.millihenries, "hertz": first.hertz},
        {"ohms": first.ohms, "millihenries": first.millihenries},
        {"microfarads": first.microfarads, "millihenries": first.millihenries},
    ):
        again = corner(**pair)
        for key in ("hertz", "ohms", "microfarads", "millihenries"):
            assert getattr(again, key) == pytest.approx(getattr(first, key), rel=1e-9)


@pytest.mark.parametrize("given_", [{}, {"ohms": 10.0}, {"ohms": 1.0, "hertz": 1.0, "microfarads": 1.0}])  # fmt: skip
def test_a_corner_takes_exactly_two(given_):
    with pytest.raises(ValueError, match="it takes exactly two"):
        registry.run("corner", given_)


@given(st.floats(20, 5000), st.floats(0.01, 2), st.floats(0.2, 0.9))
def test_a_snubber_finds_the_circuit_that_rings(picofarads, microhenries, share):
    def hertz(farads):
        return 1 / (2 * math.pi * math.sqrt(microhenries * 1e-6 * farads))

    ring = hertz(picofarads * 1e-12)
    added = picofarads * (1 / share**2 - 1)
    slower = hertz((picofarads + added) * 1e-12)
    if not 1e3 <= slower <= ring <= 5e8 or not 1 <= added <= 1e6:
        return
    got = snubber(ring / 1e3, added, slower / 1e3, 10, 100)
    assert got.stray_picofarads == pytest.approx(picofarads, rel=1e-6)
    assert got.stray_microhenries == pytest.approx(microhenries, rel=1e-6)
    assert got.picofarads >= 3 * picofarads * (1 - 1e-6)


@given(st.floats(0.5, 500), st.floats(0, 90), st.floats(0.5, 500))
def test_three_voltages_find_size_and_phase(ohms, degrees, resistor):
    load = ohms * complex(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
    got = impedance(ohms / 10, resistor / 10, resistor, abs(load + resistor) / 10)
    assert got.impedance_ohms == pytest.approx(ohms)
    assert got.phase_degrees == pytest.approx(degrees, abs=1e-2)


@pytest.mark.parametrize(("total", "word"), [(2.5, "from 1.41 to 2 V"), (1.2, "from 1.41 to 2 V")])
def test_voltages_that_make_no_triangle_get_a_sentence(total, word):
    with pytest.raises(ValueError, match=f"total_volts is {total:g} V.*{word}"):
        impedance(1, 1, 10, total)


@given(st.floats(0.5, 40), st.floats(4, 10_000), st.sampled_from(["T", "pi", "bridged-T"]))
def test_a_pad_keeps_the_impedance_and_loses_what_it_says(loss, ohms, shape):
    got = pad(loss, ohms, shape)
    seen, share = _terminated(shape, got.series_ohms, got.shunt_ohms, ohms)
    assert seen == pytest.approx(ohms)
    assert -20 * math.log10(share) == pytest.approx(loss)


def _terminated(shape, series, shunt, load):
    """Return input resistance and output over input, by nodal analysis of the pad with its load."""
    at = {"T": 3, "pi": 2, "bridged-T": 3}[shape]
    branches = {
        "T": [(0, 1, series), (1, 2, series), (1, None, shunt), (2, None, load)],
        "pi": [(0, 1, series), (0, None, shunt), (1, None, shunt), (1, None, load)],
        "bridged-T": [
            (0, 1, load),
            (1, 2, load),
            (1, None, shunt),
            (0, 2, series),
            (2, None, load),
        ],
    }[shape]
    matrix = np.zeros((at, at))
    for one, other, ohms in branches:
        matrix[one, one] += 1 / ohms
        if other is not None:
            matrix[other, other] += 1 / ohms
            matrix[one, other] -= 1 / ohms
            matrix[other, one] -= 1 / ohms
    volts = np.linalg.solve(matrix, np.eye(at)[0])
    return volts[0], volts[-1] / volts[0]


def test_a_pad_before_a_loudspeaker_keeps_the_load_and_says_what_it_burns():
    got = pad(6, 8, "loudspeaker-L", 50)
    beside = got.shunt_ohms * 8 / (got.shunt_ohms + 8)
    assert got.series_ohms + beside == pytest.approx(8)
    assert got.heat_watts == pytest.approx(50 * (1 - 10**-0.6))


@given(st.floats(1, 1000), st.floats(1, 1e6), st.floats(1, 1e6), st.floats(1, 1e7))
def test_a_divider_is_its_source_behind_its_resistance(volts, upper, lower, load):
    got = divider(volts, upper, lower, load)
    assert got.output_volts == pytest.approx(got.open_volts * load / (load + got.source_ohms))
