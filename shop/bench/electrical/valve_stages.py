"""Valve stages: what cathode and screen say, what the plate sees, and the heater chain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop.bench.electrical.preferred_values import at_least
from shop.bench.inputs import series, whole, within


@dataclass(frozen=True, slots=True, kw_only=True)
class CathodeBias:
    """What each valve of a cathode-biased stage carries and burns."""

    cathode_milliamps: float
    plate_milliamps: float
    plate_watts: float
    share_percent: float
    resistor_watts: float
    verdict: str


def cathode_bias(
    cathode_volts: float,
    cathode_ohms: float,
    plate_volts: float,
    rated_watts: float,
    *,
    valves: float = 1,
    screen_percent: float = 5.0,
) -> CathodeBias:
    """Return current and plate dissipation of each valve from the voltage across its cathode resistor.

    cathode_volts 0.1..200 V and plate_volts 50..2000 V, both to chassis; cathode_ohms 1..100,000 ohm
    as measured with the unit off, shared by 1..8 valves; rated_watts 0.5..500 W of the plate of one;
    screen_percent 0..30 % of the cathode current (0 for a triode; 5 to 10 %: common practice).
    Verdict: cold below half (common practice), hot above the rating, else right.
    Formula: Ik = Vk / Rk / valves; Wa = (Va - Vk) Ik (1 - screen share).
    Caution: DANGER. Lethal voltages at the sockets: clip the meter on with mains off and the reservoirs empty.
    Source: Ohm's law; up to the full rating with cathode bias: common practice.
    """
    drop = within("cathode_volts", cathode_volts, 0.1, 200, "V")
    ohms = within("cathode_ohms", cathode_ohms, 1, 100_000, "ohm")
    plate = within("plate_volts", plate_volts, 50, 2000, "V")
    rated = within("rated_watts", rated_watts, 0.5, 500, "W")
    if drop >= plate:
        raise ValueError(
            f"cathode_volts is {drop:g} V; it must be below plate_volts, which is {plate:g} V."
        )
    each = drop / ohms / whole("valves", valves, 1, 8)
    at_plate = each * (1 - within("screen_percent", screen_percent, 0, 30, "%") / 100)
    watts = (plate - drop) * at_plate
    share = watts / rated * 100
    return CathodeBias(
        cathode_milliamps=each * 1000,
        plate_milliamps=at_plate * 1000,
        plate_watts=watts,
        share_percent=share,
        resistor_watts=drop**2 / ohms,
        verdict="hot" if share > 100 * (1 + 1e-9) else "cold" if share < 50 else "right",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenDissipation:
    """What a screen grid carries and burns, against its rating."""

    screen_milliamps: float
    screen_watts: float
    share_percent: float
    verdict: str


def screen_dissipation(
    drop_volts: float,
    resistor_ohms: float,
    screen_volts: float,
    rated_watts: float,
    cathode_volts: float = 0.0,
) -> ScreenDissipation:
    """Return the dissipation of a screen grid from the drop across its resistor.

    drop_volts 0..500 V across resistor_ohms 1..1,000,000 ohm; screen_volts 10..1000 V at the socket
    and cathode_volts 0..200 V, both to chassis; rated_watts 0.05..100 W of the screen. At full drive
    it is several times what it is at idle: measure there too, briefly.
    Formula: Is = drop / R; Ws = (Vs - Vk) Is. Verdict: hot above the rating, else within.
    Caution: DANGER. Lethal voltages at the sockets: clip the meter on with mains off and the reservoirs empty.
    Source: Ohm's law.
    """
    drop = within("drop_volts", drop_volts, 0, 500, "V")
    ohms = within("resistor_ohms", resistor_ohms, 1, 1e6, "ohm")
    screen = within("screen_volts", screen_volts, 10, 1000, "V")
    cathode = within("cathode_volts", cathode_volts, 0, 200, "V")
    rated = within("rated_watts", rated_watts, 0.05, 100, "W")
    if cathode >= screen:
        raise ValueError(
            f"cathode_volts is {cathode:g} V; it must be below screen_volts, which is {screen:g} V."
        )
    amps = drop / ohms
    watts = amps * (screen - cathode)
    share = watts / rated * 100
    verdict = "hot" if share > 100 * (1 + 1e-9) else "within"
    return ScreenDissipation(
        screen_milliamps=amps * 1000, screen_watts=watts, share_percent=share, verdict=verdict
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReflectedLoad:
    """What an output transformer makes of its load."""

    turns_ratio: float
    reflected_ohms: float
    reflected_half_ohms: float


def reflected_load(primary_volts: float, secondary_volts: float, load_ohms: float) -> ReflectedLoad:
    """Return the load that the valves see, from the voltages of an unloaded output transformer.

    primary_volts 0.01..1000 V a.c. across the whole primary (plate to plate in push-pull),
    secondary_volts 0.001..1000 V read at the tap, load_ohms 0.5..1000 ohm of the loudspeaker on
    that tap. `reflected_half_ohms` is what one valve of a push-pull pair sees while the other is off.
    Formula: n = Vp / Vs; Zp = n^2 ZL; one half Zp / 4.
    Caution: DANGER. Unsolder or unplug the valves first, and feed a few volts: backwards through the secondary it steps up to lethal voltage.
    Source: ideal transformer.
    """
    primary = within("primary_volts", primary_volts, 0.01, 1000, "V")
    secondary = within("secondary_volts", secondary_volts, 0.001, 1000, "V")
    load = within("load_ohms", load_ohms, 0.5, 1000, "ohm")
    ratio = primary / secondary
    seen = ratio**2 * load
    return ReflectedLoad(turns_ratio=ratio, reflected_ohms=seen, reflected_half_ohms=seen / 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaterDropper:
    """The resistor in series with a heater chain."""

    chain_volts: float
    ohms: float
    preferred_ohms: float
    watts: float
    rating_watts: float
    milliamps: float


def heater_dropper(
    supply_volts: float, heater_volts: Sequence[float], heater_milliamps: float
) -> HeaterDropper:
    """Return the resistor that takes what a chain of heaters in series leaves of the supply.

    supply_volts 1..500 V r.m.s. or d.c., heater_volts 0.5..200 V each (1..40 of them, dial lamps of
    the chain too), heater_milliamps 10..5000 mA that all are made for. preferred_ohms is the next
    higher of E12 and milliamps what flows with it, the heaters taken as they are; rating_watts is
    twice what it burns (common practice).
    Formula: R = (V - sum of heaters) / I; P = (V - sum) I.
    Caution: DANGER. A set with such a chain is live all over: isolating transformer first. The resistor glows; heaters are cold and draw more at the start.
    Source: Ohm's law.
    """
    supply = within("supply_volts", supply_volts, 1, 500, "V")
    chain = sum(series("heater_volts", heater_volts, low=0.5, high=200, unit="V"))
    amps = within("heater_milliamps", heater_milliamps, 10, 5000, "mA") / 1000
    if chain >= supply:
        raise ValueError(
            f"heater_volts add up to {chain:g} V; they must stay below supply_volts,"
            f" which is {supply:g} V."
        )
    ohms = (supply - chain) / amps
    preferred = at_least(ohms, "E12")
    watts = (supply - chain) * amps
    return HeaterDropper(
        chain_volts=chain,
        ohms=ohms,
        preferred_ohms=preferred,
        watts=watts,
        rating_watts=2 * watts,
        milliamps=supply / (preferred + chain / amps) * 1000,
    )
