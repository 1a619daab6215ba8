"""What an amplifier does by IEC 60268-3: power at a stated distortion, gain, sensitivity, slew rate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, rising, same_length, series, within


@dataclass(frozen=True, slots=True)
class DistortionPower:
    """The output at which the distortion reaches what was stated."""

    watts: float
    rms_volts: float
    says: str


def distortion_power(
    rms_volts: Sequence[float],
    thd_percent: Sequence[float],
    load_ohms: float = 8.0,
    at_thd_percent: float = 1.0,
) -> DistortionPower:
    """Return the output power at a stated distortion, from readings about it.

    rms_volts 0.001..1000 V across the load, rising; thd_percent 0.0001..100 %, one each, two or more, up
    to past the stated one; load_ohms 0.1..10,000 ohm; at_thd_percent 0.001..50 %.
    Formula: between the last reading below and the next, straight on double logarithmic paper; P = V^2 / R.
    Caution: CAUTION. Full power into a dummy load: seconds, not minutes, and the load is as hot as a stove plate.
    Source: IEC 60268-3 distortion-limited output power, from memory; 1 % (and 10 % for loud ones) are custom.
    """
    volts = series("rms_volts", rms_volts, low=1e-3, high=1000, unit="V", fewest=2)
    thd = series("thd_percent", thd_percent, low=1e-4, high=100, unit="%", fewest=2)
    ohms = within("load_ohms", load_ohms, 0.1, 10_000, "ohm")
    stated = within("at_thd_percent", at_thd_percent, 1e-3, 50, "%")
    same_length("rms_volts", volts, "thd_percent", thd)
    rising("rms_volts", volts, "V")
    # At low levels noise reads as distortion: the last step over the limit is the clipping.
    below = [n for n in range(len(thd) - 1) if thd[n] <= stated < thd[n + 1]]
    if thd[-1] <= stated or not below:
        raise ValueError(
            f"thd_percent does not go from below {stated:g} % to above it; read from lower, and on past it."
        )
    n = below[-1]
    share = math.log(stated / thd[n]) / math.log(thd[n + 1] / thd[n])
    found = volts[n] * (volts[n + 1] / volts[n]) ** share
    watts = found**2 / ohms
    return DistortionPower(
        watts, found, f"{watts:.3g} W into {ohms:g} ohm at {stated:g} %, {found:.3g} V r.m.s."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """Gain, and the input that makes the rated power."""

    gain_decibels: float
    gain_times: float
    rated_volts: float | None
    sensitivity_millivolts: float | None


def gain(
    input_millivolts: float,
    output_volts: float,
    rated_watts: float | None = None,
    load_ohms: float = 8.0,
) -> Gain:
    """Return gain and sensitivity from the voltages at input and output.

    input_millivolts 0.001..100,000 mV; output_volts 1e-6..1000 V below clipping, volume fully up;
    rated_watts 0.001..20,000 W into load_ohms 0.1..10,000 ohm, for the sensitivity.
    Formula: 20 log10(Vout / Vin); sensitivity = Vin sqrt(P R) / Vout.
    Caution: NOTICE. Measure the input at the socket with the generator on it: its own output drops.
    Source: IEC 60268-3, gain and rated source e.m.f., from memory.
    """
    into = within("input_millivolts", input_millivolts, 1e-3, 1e5, "mV") / 1000
    out = within("output_volts", output_volts, 1e-6, 1000, "V")
    rated = None
    if rated_watts is not None:
        ohms = within("load_ohms", load_ohms, 0.1, 10_000, "ohm")
        rated = math.sqrt(within("rated_watts", rated_watts, 1e-3, 20_000, "W") * ohms)
    return Gain(
        gain_decibels=20 * math.log10(out / into),
        gain_times=out / into,
        rated_volts=rated,
        sensitivity_millivolts=None if rated is None else 1000 * rated * into / out,
    )


Level = Literal["V", "mV", "dBu", "dBV", "dBm", "mW"]
DBU_VOLTS = math.sqrt(0.6)  # 1 mW into 600 ohm: 0.7746 V


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """One level in all its units."""

    rms_volts: float
    level_dbu: float
    level_dbv: float
    level_dbm: float
    power_milliwatts: float


def level_units(value: float, unit: Level, load_ohms: float = 600.0) -> Levels:
    """Return a level in volts, dBu, dBV, and as power in a load in dBm and mW.

    value: above 0 for V, mV and mW, -200..100 for dB; load_ohms 1..1e6 ohm, for dBm and mW alone.
    Formula: dBu to 0.7746 V, dBV to 1 V, dBm to 1 mW in the load.
    Caution: NOTICE. dBm without its load is no voltage; in old sheets of 600 ohm gear it is dBu.
    Source: ITU-T and broadcast custom; 0.7746 V = sqrt(600 ohm x 1 mW).
    """
    one_of("unit", unit, ("V", "mV", "dBu", "dBV", "dBm", "mW"))
    ohms = within("load_ohms", load_ohms, 1, 1e6, "ohm")
    volts = _volts(value, unit, ohms)
    milliwatts = 1000 * volts**2 / ohms
    return Levels(
        rms_volts=volts,
        level_dbu=20 * math.log10(volts / DBU_VOLTS),
        level_dbv=20 * math.log10(volts),
        level_dbm=10 * math.log10(milliwatts),
        power_milliwatts=milliwatts,
    )


def _volts(value: float, unit: str, ohms: float) -> float:
    if unit.startswith("dB"):
        level = within("value", value, -200, 100, unit)
        zero = {"dBu": DBU_VOLTS, "dBV": 1.0, "dBm": math.sqrt(ohms / 1000)}[unit]
        return float(zero * 10 ** (level / 20))
    amount = within("value", value, 1e-9, 1e7, unit)
    if unit == "mW":
        return math.sqrt(amount * ohms / 1000)
    return amount / 1000 if unit == "mV" else amount


@dataclass(frozen=True, slots=True, kw_only=True)
class SlewRate:
    """The slew rate a sine needs, and what a measured one is enough for."""

    needed_volts_per_microsecond: float
    measured_volts_per_microsecond: float | None
    full_power_hertz: float | None
    verdict: str


def slew_rate(
    rms_volts: float,
    hertz: float = 20_000.0,
    rise_volts: float | None = None,
    rise_microseconds: float | None = None,
) -> SlewRate:
    """Return the slew rate that a full sine needs, and whether a measured slope is enough.

    rms_volts 0.001..1000 V and hertz 1..1e6 Hz of the sine; rise_volts 0.001..3000 V between two points of
    the straight part of a step (10 and 90 %), rise_microseconds 0.001..1e6 us between them.
    Formula: 2 pi f sqrt(2) V; measured = volts / time; full power up to measured / (2 pi sqrt(2) V).
    Caution: CAUTION. Full steps at the output overheat its RC link: low repetition, seconds, no loudspeaker.
    Source: derivative of the sine; IEC 60268-3 slew rate, from memory.
    """
    peak = math.sqrt(2) * within("rms_volts", rms_volts, 1e-3, 1000, "V")
    needed = 2e-6 * math.pi * within("hertz", hertz, 1, 1e6, "Hz") * peak
    if rise_volts is None or rise_microseconds is None:
        return SlewRate(
            needed_volts_per_microsecond=needed,
            measured_volts_per_microsecond=None,
            full_power_hertz=None,
            verdict="not-measured",
        )
    slope = within("rise_volts", rise_volts, 1e-3, 3000, "V") / within(
        "rise_microseconds", rise_microseconds, 1e-3, 1e6, "us"
    )
    return SlewRate(
        needed_volts_per_microsecond=needed,
        measured_volts_per_microsecond=slope,
        full_power_hertz=1e6 * slope / (2 * math.pi * peak),
        verdict="enough" if slope >= needed * (1 - 1e-9) else "too-slow",
    )
