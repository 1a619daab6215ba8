"""Limits for a first power-up: the series lamp, and a current-limited supply."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, within

OutputStage = Literal[
    "none", "class-a", "class-ab", "class-d", "rail-switching",
    "valve-push-pull", "valve-single-ended",
]  # fmt: skip
# What a unit draws from the mains at idle, W: so much, and a share of its rated output.  Common
# practice, on the high side; a valve stage heats its cathodes, class A carries its peak current.
IDLE_WATTS: dict[str, tuple[float, float]] = {
    "none": (25.0, 0.0),
    "class-a": (20.0, 5.0),
    "class-ab": (30.0, 0.3),
    "class-d": (20.0, 0.1),
    "rail-switching": (20.0, 0.2),
    "valve-push-pull": (45.0, 1.2),
    "valve-single-ended": (30.0, 5.0),
}

LAMPS_WATTS = (25.0, 40.0, 60.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0)
# A filament's current grows with about this power of its voltage (from memory).
LAMP_EXPONENT = 0.55
# A larger lamp lets a shorted winding or a valve that runs away pass for a healthy unit, a smaller
# one starves the healthy one (common practice).
LAMP_MARGIN = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class LampLimiter:
    """A lamp in series with the mains. `ceiling_amps` flows into a dead short.

    `idle_watts` is what it was sized for; `unit_volts` is what a healthy unit of that is left with.
    """

    lamp_watts: float
    ceiling_amps: float
    hot_ohms: float
    cold_ohms: float
    expect: str
    idle_watts: float | None = None
    unit_volts: float | None = None


def idle_watts_of(output_stage: OutputStage, rated_watts: float) -> float:
    """Return by rule of thumb what a unit draws from the mains at idle, W (common practice)."""
    base, share = IDLE_WATTS[one_of("output_stage", output_stage, tuple(IDLE_WATTS))]
    return base + share * rated_watts


def lamp_limiter(
    mains_volts: float,
    rated_watts: float = 0.0,
    lamp_watts: float | None = None,
    idle_watts: float | None = None,
    output_stage: OutputStage | None = None,
) -> LampLimiter:
    """Return the series lamp for a first power-up.

    mains_volts 90..260 V, rated_watts (all outputs) 0..20,000 W, lamp_watts 5..1000 W,
    idle_watts 0.1..5000 W drawn from the mains. Without `lamp_watts` it takes the next lamp above
    1.6 times the idle power, which keeps a fifth to a quarter of the mains; where that is not
    given, of what is usual for output stage and rated power; without the stage, 40 W up to 30 W rated, 100 W up to 100 W, else 150 W, too small for valves and class A
    (common practice). ValueError with a sentence.
    Formula: I(short) = P/V; R(hot) = V^2/P; R(cold) about R(hot)/15; lamp current ~ V^0.55 (memory).
    Caution: WARNING. Incandescent or halogen only, in the live conductor; a lamp does not isolate.
    Source: series-lamp notes and lamp data, read (W8.1 to W8.3, W8.6).
    """
    volts = within("mains_volts", mains_volts, 90, 260, "V")
    rated = within("rated_watts", rated_watts, 0, 20_000, "W")
    idle = None if idle_watts is None else within("idle_watts", idle_watts, 0.1, 5000, "W")
    if idle is None and output_stage is not None:
        idle = idle_watts_of(output_stage, rated)
    size = _lamp_for(rated, idle) if lamp_watts is None else lamp_watts
    lamp = within("lamp_watts", size, 5, 1000, "W")
    hot = volts**2 / lamp
    expect = "The lamp flashes, then goes dim. If it stays bright, plug out: there is a short."
    left = None if idle is None else _volts_left(volts, lamp, idle)
    return LampLimiter(
        lamp_watts=lamp,
        ceiling_amps=lamp / volts,
        hot_ohms=hot,
        cold_ohms=hot / 15,
        expect=expect,
        idle_watts=idle,
        unit_volts=left,
    )


def _lamp_for(rated_watts: float, idle_watts: float | None) -> float:
    if idle_watts is not None:
        return next(
            (lamp for lamp in LAMPS_WATTS if lamp >= LAMP_MARGIN * idle_watts), LAMPS_WATTS[-1]
        )
    if rated_watts <= 30:
        return 40
    return 100 if rated_watts <= 100 else 150


def _volts_left(volts: float, lamp_watts: float, idle_watts: float) -> float:
    """Return the volts across a resistive load of this idle power behind the lamp."""
    load_ohms = volts**2 / idle_watts

    def excess(left: float) -> float:
        through_lamp = lamp_watts / volts * ((volts - left) / volts) ** LAMP_EXPONENT
        return float(through_lamp - left / load_ohms)

    # Halved fifty times: to load a solver takes longer than all the rest of a checklist.
    low, high = 0.0, volts
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return low


@dataclass(frozen=True, slots=True)
class SupplyLimiter:
    """Settings of a bench supply for a first power-up from its own rails."""

    limit_milliamps: float
    charging_seconds: float
    fault_watts: float


def supply_limiter(
    rail_volts: float, idle_milliamps: float, microfarads: float = 0.0
) -> SupplyLimiter:
    """Return the current limit for feeding a rail from a bench supply.

    rail_volts 1..150 V, idle_milliamps 1..5000 mA, microfarads 0..1e6 uF of reservoir.
    `charging_seconds`: how long the supply stays in limit while the reservoir fills;
    `fault_watts`: what a shorted output device may burn meanwhile.
    Formula: I = 2 Iq, at least 50 mA (common practice); t = C V / I; P = V I.
    Caution: WARNING. Rails above 60 V are hazardous from a bench supply as well.
    Source: charge balance; the factor of two is common practice.
    """
    volts = within("rail_volts", rail_volts, 1, 150, "V")
    limit = max(50.0, 2 * within("idle_milliamps", idle_milliamps, 1, 5000, "mA"))
    farads = within("microfarads", microfarads, 0, 1e6, "uF") * 1e-6
    amps = limit / 1000
    return SupplyLimiter(limit, farads * volts / amps, volts * amps)
