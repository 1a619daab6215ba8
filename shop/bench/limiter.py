"""The series lamp for a first power-up: which one, what it lets through, what to expect."""

from __future__ import annotations

from dataclasses import dataclass

from shop.bench.inputs import within


@dataclass(frozen=True, slots=True)
class LampLimiter:
    """A lamp in series with the mains. `ceiling_amps` flows into a dead short."""

    lamp_watts: float
    ceiling_amps: float
    hot_ohms: float
    cold_ohms: float
    expect: str


def lamp_limiter(
    mains_volts: float, rated_watts: float = 0.0, lamp_watts: float | None = None
) -> LampLimiter:
    """Return the series lamp for a unit of `rated_watts` (W, all outputs) on `mains_volts` (V).

    Without `lamp_watts` it picks by rated power: 40 W up to 30 W, 100 W up to 100 W, else
    150 W (common practice). Current into a short is P/V, hot resistance V^2/P; cold about
    1/15 of it. mains 90..260 V, lamp 5..1000 W. ValueError with a sentence.
    Source: series-lamp notes and lamp data, read (trade reference 8; W8.1, W8.2).
    """
    volts = within("mains_volts", mains_volts, 90, 260, "V")
    rated = within("rated_watts", rated_watts, 0, 20_000, "W")
    size = _lamp_for(rated) if lamp_watts is None else lamp_watts
    lamp = within("lamp_watts", size, 5, 1000, "W")
    hot = volts**2 / lamp
    expect = "The lamp flashes, then goes dim. If it stays bright, plug out: there is a short."
    return LampLimiter(lamp, lamp / volts, hot, hot / 15, expect)


def _lamp_for(rated_watts: float) -> float:
    if rated_watts <= 30:
        return 40
    return 100 if rated_watts <= 100 else 150
