"""Wires: gauges, and what is lost along the way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, whole, within

# Largest resistance at 20 C in ohm/km, plain annealed copper: IEC 60228, read on makers' pages.
# mm2: (solid or stranded, class 1 and 2; flexible, class 5 and 6)
OHMS_PER_KILOMETRE: dict[float, tuple[float, float]] = {
    0.5: (36.0, 39.0), 0.75: (24.5, 26.0), 1.0: (18.1, 19.5), 1.5: (12.1, 13.3),
    2.5: (7.41, 7.98), 4.0: (4.61, 4.95), 6.0: (3.08, 3.30), 10.0: (1.83, 1.91), 16.0: (1.15, 1.21),
}  # fmt: skip
# Standard wire gauge 0 to 40 in thousandths of an inch: BS 3737, from memory.
_SWG_MILS = (
    324, 300, 276, 252, 232, 212, 192, 176, 160, 144, 128, 116, 104, 92, 80, 72, 64, 56, 48, 40,
    36, 32, 28, 24, 22, 20, 18, 16.4, 14.8, 13.6, 12.4, 11.6, 10.8, 10, 9.2, 8.4, 7.6, 6.8, 6, 5.2, 4.8,
)  # fmt: skip
_COPPER_OHM_SQUARE_MILLIMETRES_PER_METRE = 0.017241  # annealed, at 20 C: IEC 60028
_COPPER_PER_KELVIN = 0.00393  # at 20 C, the same standard
Make = Literal["flexible", "solid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WireDrop:
    """What a lead takes of voltage, power and damping."""

    lead_ohms: float
    drop_volts: float
    lost_watts: float
    loss_decibels: float | None
    damping_factor: float | None


def wire_drop(
    metres: float,
    square_millimetres: float,
    amps: float,
    make: Make = "flexible",
    *,
    celsius: float = 20.0,
    load_ohms: float | None = None,
) -> WireDrop:
    """Return what a two-core lead takes at a current, there and back.

    metres 0.01..1000 m of lead, square_millimetres one of 0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16 mm2,
    amps 0..200 A, celsius -40..120 C of the copper. load_ohms 0.5..1000 ohm of the loudspeaker at its
    end: level lost, and the damping factor that the lead alone would leave. A lead may have less
    than the standard's limit, never more.
    Formula: R = 2 l r (1 + 0.00393 (T - 20)); r of IEC 60228.
    Caution: CAUTION. Voltage drop does not say what a lead may carry: local code and fuse do.
    Source: IEC 60228, read on makers' pages; temperature coefficient of IEC 60028, from memory.
    """
    length = within("metres", metres, 0.01, 1000, "m")
    area = within("square_millimetres", square_millimetres, 0.5, 16, "mm2")
    if area not in OHMS_PER_KILOMETRE:
        sizes = ", ".join(f"{size:g}" for size in OHMS_PER_KILOMETRE)
        raise ValueError(f"square_millimetres is {area:g} mm2; it must be one of {sizes}.")
    current = within("amps", amps, 0, 200, "A")
    flexible = one_of("make", make, ("flexible", "solid")) == "flexible"
    warm = 1 + _COPPER_PER_KELVIN * (within("celsius", celsius, -40, 120, "C") - 20)
    ohms = 2 * length / 1000 * OHMS_PER_KILOMETRE[area][flexible] * warm
    loss = factor = None
    if load_ohms is not None:
        load = within("load_ohms", load_ohms, 0.5, 1000, "ohm")
        loss, factor = 20 * math.log10(1 + ohms / load), load / ohms
    return WireDrop(
        lead_ohms=ohms,
        drop_volts=current * ohms,
        lost_watts=current**2 * ohms,
        loss_decibels=loss,
        damping_factor=factor,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WireGauge:
    """One solid round copper wire, and the gauges nearest to it."""

    diameter_millimetres: float
    square_millimetres: float
    ohms_per_kilometre: float
    nearest_awg: str
    nearest_swg: str


def wire_gauge(
    awg: float | None = None, swg: float | None = None, diameter_millimetres: float | None = None
) -> WireGauge:
    """Return diameter, area and resistance of a wire by its gauge, or the gauges by its diameter.

    One of: awg -3..40 (0000 is -3), swg 0..40, diameter_millimetres 0.05..12 mm of bare copper: enamel
    adds a few hundredths. Resistance at 20 C.
    Formula: AWG d = 0.127 mm x 92^((36 - n) / 39); SWG by table; r = 17.241 / A.
    Caution: NOTICE. Measure in two places: a wire that was stretched or nicked is thinner.
    Source: AWG of ASTM B258, tables read; SWG of BS 3737, from memory; copper of IEC 60028, from memory.
    """
    given = [value for value in (awg, swg, diameter_millimetres) if value is not None]
    if len(given) != 1:
        raise ValueError(
            f"{len(given)} of awg, swg and diameter_millimetres are given; it takes exactly one."
        )
    if awg is not None:
        diameter = _awg_millimetres(whole("awg", awg, -3, 40))
    elif swg is not None:
        diameter = _SWG_MILS[whole("swg", swg, 0, 40)] * 0.0254
    else:
        diameter = within("diameter_millimetres", given[0], 0.05, 12, "mm")
    area = math.pi / 4 * diameter**2
    return WireGauge(
        diameter_millimetres=diameter,
        square_millimetres=area,
        ohms_per_kilometre=1000 * _COPPER_OHM_SQUARE_MILLIMETRES_PER_METRE / area,
        nearest_awg=_awg_name(
            min(range(-3, 41), key=lambda n: _apart(_awg_millimetres(n), diameter))
        ),
        nearest_swg=str(min(range(41), key=lambda n: _apart(_SWG_MILS[n] * 0.0254, diameter))),
    )


def _awg_millimetres(number: int) -> float:
    return float(0.127 * 92 ** ((36 - number) / 39))


def _awg_name(number: int) -> str:
    """Return 0000 for -3, as it is said."""
    return str(number) if number > 0 else "0" * (1 - number)


def _apart(one: float, other: float) -> float:
    return abs(math.log(one / other))
