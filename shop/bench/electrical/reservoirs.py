"""Reservoirs behind a rectifier: the ripple they leave, and how large they must be."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop.bench.electrical.preferred_values import at_least
from shop.bench.inputs import within

_STEPS = 80  # halvings of an interval: beyond the digits of a float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ripple:
    """The voltage on a reservoir with a steady current out of it."""

    ripple_volts: float
    ripple_rms_volts: float
    lowest_volts: float
    mean_volts: float
    ripple_hertz: float
    conduction_milliseconds: float


def ripple(
    load_amps: float,
    microfarads: float,
    peak_volts: float,
    mains_hertz: float = 50.0,
    half_wave: bool = False,
) -> Ripple:
    """Return the ripple on a reservoir that an ideal rectifier charges to the peak of a sine.

    load_amps 0.0001..200 A steady, microfarads 0.1..1e6 uF, peak_volts 1..2000 V, mains_hertz
    40..440 Hz. ripple_volts is peak to peak. The resistance of the windings, not counted, makes the
    peaks lower and longer and the ripple somewhat less.
    Formula: straight fall I / C from near the peak until the next half-sine meets it; below I / (n f C).
    Caution: DANGER. A reservoir holds its charge after the plug is out: discharge, wait, measure.
    Source: reservoir discharged at constant current, textbooks.
    """
    amps = within("load_amps", load_amps, 1e-4, 200, "A")
    farads = within("microfarads", microfarads, 0.1, 1e6, "uF") * 1e-6
    peak = within("peak_volts", peak_volts, 1, 2000, "V")
    mains = within("mains_hertz", mains_hertz, 40, 440, "Hz")
    fall = amps / farads / (2 * math.pi * mains)  # V per radian of the mains
    leaves = math.pi / 2 + math.asin(min(1.0, fall / peak))
    turn = 2 * math.pi if half_wave else math.pi
    start = peak * math.sin(leaves)
    meets = _meets(peak, leaves, start, fall, turn)
    lowest = max(0.0, start - fall * (meets - leaves))
    charging = leaves - (meets - turn)
    drop = peak - lowest
    return Ripple(
        ripple_volts=drop,
        ripple_rms_volts=drop / (2 * math.sqrt(3)),
        lowest_volts=lowest,
        mean_volts=peak - drop / 2,
        ripple_hertz=mains * (1 if half_wave else 2),
        conduction_milliseconds=charging / (2 * math.pi * mains) * 1000,
    )


def _meets(peak: float, leaves: float, start: float, fall: float, turn: float) -> float:
    """Return the angle at which the next hump meets the falling line."""
    low, high = turn, turn + math.pi / 2
    if start - fall * (low - leaves) <= 0:
        return turn  # empty before the hump begins
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if peak * math.sin(middle - turn) < start - fall * (middle - leaves):
            low = middle
        else:
            high = middle
    return low


@dataclass(frozen=True, slots=True, kw_only=True)
class ReservoirSize:
    """The reservoir that keeps the ripple within a limit."""

    microfarads: float
    preferred_microfarads: float


def reservoir_size(
    load_amps: float, ripple_volts: float, mains_hertz: float = 50.0, half_wave: bool = False
) -> ReservoirSize:
    """Return the reservoir for a ripple, on the safe side of what `ripple` would find.

    load_amps 0.0001..200 A steady, ripple_volts 0.001..500 V peak to peak, mains_hertz 40..440 Hz.
    preferred_microfarads is the next higher of E6; a tolerance of -20 % asks for a quarter more.
    Formula: C = I / (n f V), n 2 for both half-waves and 1 for one.
    Caution: WARNING. A larger reservoir charges in shorter, higher pulses and at switch-on draws more: rectifier, fuse and inrush limiter must stand it.
    Source: reservoir discharged at constant current, textbooks.
    """
    amps = within("load_amps", load_amps, 1e-4, 200, "A")
    volts = within("ripple_volts", ripple_volts, 0.001, 500, "V")
    mains = within("mains_hertz", mains_hertz, 40, 440, "Hz")
    microfarads = amps / (mains * (1 if half_wave else 2) * volts) * 1e6
    return ReservoirSize(microfarads=microfarads, preferred_microfarads=at_least(microfarads, "E6"))
