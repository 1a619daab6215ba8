"""Transistors that are to work side by side: which belong together, and how they share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shop.bench.inputs import series, whole, within

THERMAL_MILLIVOLTS = 26.0  # kT/q at room temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """Groups of devices by their place in the list, how far each is apart, and what is left over."""

    groups: tuple[str, ...]
    apart_percent: tuple[float, ...]
    left_over: tuple[str, ...]
    says: str


def matching(
    readings: Sequence[float], tolerance_percent: float = 5.0, together: float = 2
) -> Matching:
    """Return as many groups of devices as stay within a tolerance, from readings in any one unit.

    readings 1e-6..1e6 (current gains, or base voltages at one current), 2..200 of them, all at the
    same current, voltage and temperature; tolerance 0..100 % of the lowest of a group; together 2..32.
    Formula: sorted, the first `together` neighbours within the tolerance make a group, then on from there.
    Caution: NOTICE. A device warms in the hand and its gain rises with it: let all of them rest in one holder.
    Source: earliest-ending choice finds the most groups (a proof of textbooks); 5 % for output devices: common practice.
    """
    given = series("readings", readings, low=1e-6, high=1e6, unit="one unit", fewest=2)
    if len(given) > 200:
        raise ValueError(f"readings has {len(given)} values; it takes 2 to 200.")
    share = within("tolerance_percent", tolerance_percent, 0, 100, "%") / 100
    size = whole("together", together, 2, 32)
    order = sorted(range(len(given)), key=lambda place: given[place])
    found, left = _groups(given, order, size, share)
    apart = tuple((given[group[-1]] / given[group[0]] - 1) * 100 for group in found)
    return Matching(
        groups=tuple(" with ".join(str(place + 1) for place in sorted(group)) for group in found),
        apart_percent=apart,
        left_over=tuple(str(place + 1) for place in sorted(left)),
        says=_said(found, size, tolerance_percent),
    )


def _groups(
    given: list[float], order: list[int], size: int, share: float
) -> tuple[list[list[int]], list[int]]:
    found, left, place = [], [], 0
    while place < len(order):
        group = order[place : place + size]
        if len(group) == size and given[group[-1]] <= given[group[0]] * (1 + share) * (1 + 1e-12):
            found.append(group)
            place += size
        else:
            left.append(order[place])
            place += 1
    return found, left


def _said(found: list[list[int]], size: int, tolerance: float) -> str:
    if not found:
        return f"No {size} of them are within {tolerance:g} %."
    return f"{len(found)} of {size} within {tolerance:g} %, numbered as typed."


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharing:
    """How two parallel devices share a current."""

    higher_amps: float
    lower_amps: float
    apart_percent: float
    resistor_millivolts: float


def current_sharing(total_amps: float, apart_millivolts: float, emitter_ohms: float) -> Sharing:
    """Return how two parallel transistors share a current, by how far their base voltages differ.

    total_amps 0.001..100 A of both, apart_millivolts 0..200 mV between their base voltages at one
    current and temperature, emitter_ohms 0..10 ohm of each. ValueError with a sentence.
    Formula: (I1 - I2) RE + 26 mV ln(I1 / I2) = dVBE, I1 + I2 = I. apart_percent is of the mean.
    Caution: CAUTION. The one that carries more gets hotter and takes still more: with small resistors this is where it begins.
    Source: exponential law of the base voltage, both at one temperature.
    """
    total = within("total_amps", total_amps, 0.001, 100, "A")
    apart = within("apart_millivolts", apart_millivolts, 0, 200, "mV") / 1000
    ohms = within("emitter_ohms", emitter_ohms, 0, 10, "ohm")
    low, high = 0.5, 1.0
    for _ in range(80):
        share = (low + high) / 2
        if _needed_volts(share, total, ohms) < apart:
            low = share
        else:
            high = share
    higher = total * low
    return Sharing(
        higher_amps=higher,
        lower_amps=total - higher,
        apart_percent=(2 * low - 1) * 200,
        resistor_millivolts=higher * ohms * 1000,
    )


def _needed_volts(share: float, total: float, ohms: float) -> float:
    """Return the difference of base voltages that makes one of two carry this share."""
    rest = max(1 - share, 1e-18)
    return (2 * share - 1) * total * ohms + THERMAL_MILLIVOLTS / 1000 * math.log(share / rest)
