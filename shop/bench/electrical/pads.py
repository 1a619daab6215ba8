"""Resistive pads: less level, the same impedance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shop.bench.electrical.preferred_values import at_least, at_most
from shop.bench.inputs import one_of, within

Shape = Literal["T", "pi", "bridged-T", "loudspeaker-L"]
SHAPES: tuple[str, ...] = ("T", "pi", "bridged-T", "loudspeaker-L")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """The resistors of a pad; a T has its series one twice, a pi its shunt one."""

    series_ohms: float
    shunt_ohms: float
    preferred_series_ohms: float
    preferred_shunt_ohms: float
    heat_watts: float | None


def pad(
    loss_decibels: float, ohms: float, shape: Shape = "T", input_watts: float | None = None
) -> Pad:
    """Return the resistors of a pad between equal impedances, or before a loudspeaker.

    loss_decibels 0.1..60 dB, ohms 1..100,000 ohm of source and load (of the loudspeaker), input_watts
    0.001..1000 W that go in. The bridged T has two resistors of `ohms` besides; loudspeaker-L is one in
    series and one across the loudspeaker, and keeps the load of the amplifier. Preferred values of E24.
    Formula: k = 10^(dB/20); T: Z (k-1)/(k+1), 2 Z k/(k^2-1); pi: Z (k^2-1)/(2 k), Z (k+1)/(k-1); bridged T: Z (k-1), Z/(k-1); L: Z (k-1)/k, Z/(k-1).
    Caution: CAUTION. Before a loudspeaker most of the power heats the pad: wire-wound, clear of the box's damping wool.
    Source: pad tables for 50 ohm, read; loudspeaker pad: common practice.
    """
    k = 10 ** (within("loss_decibels", loss_decibels, 0.1, 60, "dB") / 20)
    z = within("ohms", ohms, 1, 100_000, "ohm")
    series_ohms, shunt_ohms = _RESISTORS[one_of("shape", shape, SHAPES)](k)
    heat = None
    if input_watts is not None:
        heat = within("input_watts", input_watts, 0.001, 1000, "W") * (1 - 1 / k**2)
    return Pad(
        series_ohms=z * series_ohms,
        shunt_ohms=z * shunt_ohms,
        preferred_series_ohms=_nearest(z * series_ohms),
        preferred_shunt_ohms=_nearest(z * shunt_ohms),
        heat_watts=heat,
    )


_RESISTORS = {
    "T": lambda k: ((k - 1) / (k + 1), 2 * k / (k**2 - 1)),
    "pi": lambda k: ((k**2 - 1) / (2 * k), (k + 1) / (k - 1)),
    "bridged-T": lambda k: (k - 1, 1 / (k - 1)),
    "loudspeaker-L": lambda k: ((k - 1) / k, 1 / (k - 1)),
}


def _nearest(ohms: float) -> float:
    above, below = at_least(ohms, "E24"), at_most(ohms, "E24")
    return below if ohms / below <= above / ohms else above
