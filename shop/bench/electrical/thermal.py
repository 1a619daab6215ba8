"""Heat of an output stage: what it burns, how hot the junctions get, what an insulator costs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, within

Package = Literal["TO-3", "TO-220", "TO-247", "power-IC"]
Interface = Literal["bare-dry", "bare-compound", "mica-compound", "mica-dry", "pad-dry"]

# K/W, lowest and highest that tables give. Read in a data sheet: the power IC's, but for its
# mica-dry and the upper end of bare-dry. Those and the other packages are from memory of
# makers' notes.
INTERFACE_KELVIN_PER_WATT: dict[str, dict[str, tuple[float, float]]] = {
    "TO-3": {
        "bare-dry": (0.25, 0.5), "bare-compound": (0.1, 0.15), "mica-compound": (0.3, 0.4),
        "mica-dry": (0.8, 1.3), "pad-dry": (0.4, 0.8),
    },
    "TO-220": {
        "bare-dry": (1.0, 1.4), "bare-compound": (0.3, 1.0), "mica-compound": (1.0, 1.6),
        "mica-dry": (2.0, 3.5), "pad-dry": (1.0, 2.0),
    },
    "TO-247": {
        "bare-dry": (0.4, 0.8), "bare-compound": (0.1, 0.24), "mica-compound": (0.3, 0.6),
        "mica-dry": (0.8, 1.5), "pad-dry": (0.5, 1.0),
    },
    "power-IC": {
        "bare-dry": (0.5, 0.8), "bare-compound": (0.2, 0.2), "mica-compound": (0.4, 0.4),
        "mica-dry": (0.8, 1.2), "pad-dry": (0.5, 0.5),
    },
}  # fmt: skip
ALUMINIUM_JOULES_PER_KILOGRAM_KELVIN = 897.0  # from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Dissipation:
    """What a class B or AB pair burns at a level, and at the level where it burns most."""

    output_peak_volts: float
    supply_watts: float
    pair_watts: float
    worst_pair_watts: float
    worst_at_peak_volts: float
    largest_output_watts: float


def class_b_dissipation(
    rail_volts: float, load_ohms: float, output_watts: float | None = None
) -> Dissipation:
    """Return the dissipation of one ideal pair on rails of +-rail_volts with a sine.

    rail_volts 1..250 V (one rail to chassis), load_ohms 0.5..1000 ohm, output_watts into the
    load, at most what the rails allow (full power unless given). Idle current comes on top.
    ValueError with a sentence.
    Formula: Pd = 2 Vcc Vp / (pi R) - Vp^2 / (2 R); worst 2 Vcc^2 / (pi^2 R) at Vp = 2 Vcc / pi.
    Caution: CAUTION. Full power is not the hottest point: that is at 40.5 % of it.
    Source: power IC data sheet, eq. 1, and a published heat sink design (W5.1, W5.3 to W5.7).
    """
    rail = within("rail_volts", rail_volts, 1, 250, "V")
    ohms = within("load_ohms", load_ohms, 0.5, 1000, "ohm")
    largest = rail**2 / (2 * ohms)
    watts = largest if output_watts is None else output_watts
    within("output_watts", watts, 0, largest * (1 + 1e-9), f"W on these rails into {ohms:g} ohm,")
    peak = math.sqrt(2 * watts * ohms)
    taken = 2 * rail * peak / (math.pi * ohms)
    worst = 2 * rail**2 / (math.pi**2 * ohms)
    return Dissipation(
        output_peak_volts=peak,
        supply_watts=taken,
        pair_watts=taken - watts,
        worst_pair_watts=worst,
        worst_at_peak_volts=2 * rail / math.pi,
        largest_output_watts=largest,
    )


@dataclass(frozen=True, slots=True)
class Junction:
    """Temperatures down the chain from the junction to the air."""

    junction_celsius: float
    case_celsius: float
    sink_celsius: float
    verdict: str


def junction_temperature(
    *,
    ambient_celsius: float,
    device_watts: float,
    case_kelvin_per_watt: float,
    interface_kelvin_per_watt: float,
    sink_kelvin_per_watt: float,
    sink_watts: float | None = None,
    limit_celsius: float = 125.0,
) -> Junction:
    """Return junction, case and sink temperature in the steady state.

    ambient -40..100 C, device_watts 0..500 W, resistances 0..100 K/W, sink_watts the sum of all
    devices on the sink (the one unless given), limit_celsius 50..250 C of the junction.
    Formula: Tj = Ta + Psink RSA + P (RCS + RJC).
    Caution: CAUTION. Metal above 60 C burns skin; measure with a probe, not a finger.
    Source: thermal chain, published heat sink design (W5.1, W5.2, W5.8).
    """
    ambient = within("ambient_celsius", ambient_celsius, -40, 100, "C")
    watts = within("device_watts", device_watts, 0, 500, "W")
    limit = within("limit_celsius", limit_celsius, 50, 250, "C")
    on_sink = watts if sink_watts is None else within("sink_watts", sink_watts, watts, 5000, "W")
    sink = ambient + on_sink * within("sink_kelvin_per_watt", sink_kelvin_per_watt, 0, 100, "K/W")
    joint = within("interface_kelvin_per_watt", interface_kelvin_per_watt, 0, 100, "K/W")
    case = sink + watts * joint
    inner = within("case_kelvin_per_watt", case_kelvin_per_watt, 0, 100, "K/W")
    junction = case + watts * inner
    return Junction(junction, case, sink, "too-hot" if junction > limit else "within")


@dataclass(frozen=True, slots=True)
class RequiredSink:
    """The largest thermal resistance a sink may have."""

    sink_kelvin_per_watt: float


def required_sink(
    device_watts: float,
    case_kelvin_per_watt: float,
    interface_kelvin_per_watt: float,
    junction_limit_celsius: float = 150.0,
    ambient_celsius: float = 25.0,
) -> RequiredSink:
    """Return the sink that keeps one device below its junction limit.

    device_watts 0.01..500 W, resistances 0..100 K/W, junction limit 50..250 C, ambient -40..100 C.
    ValueError with a sentence when no sink can do it.
    Formula: RSA = (Tj - Ta) / P - RJC - RCS.
    Caution: CAUTION. Leave a margin: dust, a warm room and a shelf add what the sum does not know.
    Source: published heat sink design and a textbook example (W5.1, W5.9).
    """
    watts = within("device_watts", device_watts, 0.01, 500, "W")
    inner = within("case_kelvin_per_watt", case_kelvin_per_watt, 0, 100, "K/W")
    joint = within("interface_kelvin_per_watt", interface_kelvin_per_watt, 0, 100, "K/W")
    top = within("junction_limit_celsius", junction_limit_celsius, 50, 250, "C")
    ambient = within("ambient_celsius", ambient_celsius, -40, 100, "C")
    left = (top - ambient) / watts - inner - joint
    if left <= 0:
        raise ValueError(
            f"No sink is large enough: {watts:g} W through {inner + joint:g} K/W alone rises"
            f" {watts * (inner + joint):.0f} K, and {top - ambient:g} K are allowed."
        )
    return RequiredSink(left)


@dataclass(frozen=True, slots=True, kw_only=True)
class InterfaceSwap:
    """What changing the insulator does to the case, in K; a range, as tables give ranges."""

    before_kelvin_per_watt: float
    after_kelvin_per_watt: float
    likely_kelvin: float
    lowest_kelvin: float
    highest_kelvin: float
    says: str


def interface_swap(
    device_watts: float,
    package: Package = "TO-3",
    before: Interface = "mica-compound",
    after: Interface = "pad-dry",
) -> InterfaceSwap:
    """Return what an exchange of insulator or compound costs (or gains) in kelvin at the case.

    device_watts 0..500 W of one device. The likely figure takes the middle of each range.
    Formula: dT = P (R_after - R_before).
    Caution: WARNING. After any exchange: resistance from tab to sink, then bias set anew, warm.
    Source: power IC data sheet (read); other packages from memory of makers' notes.
    """
    watts = within("device_watts", device_watts, 0, 500, "W")
    table = INTERFACE_KELVIN_PER_WATT[one_of("package", package, tuple(INTERFACE_KELVIN_PER_WATT))]
    old = table[one_of("before", before, tuple(table))]
    new = table[one_of("after", after, tuple(table))]
    likely = watts * (sum(new) - sum(old)) / 2
    lowest, highest = watts * (new[0] - old[1]), watts * (new[1] - old[0])
    if before == after:
        lowest = highest = 0.0
    change = f"{likely:.0f} K hotter" if likely > 0.5 else f"{-likely:.0f} K cooler"
    says = (
        f"The case runs about {change} at {watts:g} W."
        if abs(likely) > 0.5
        else "No change to speak of."
    )
    return InterfaceSwap(
        before_kelvin_per_watt=sum(old) / 2,
        after_kelvin_per_watt=sum(new) / 2,
        likely_kelvin=likely,
        lowest_kelvin=lowest,
        highest_kelvin=highest,
        says=says,
    )


@dataclass(frozen=True, slots=True)
class WarmUp:
    """How a sink heats up at a constant power."""

    time_constant_s: float
    final_celsius: float
    celsius: float
    share_percent: float


def warm_up(
    watts: float,
    sink_kelvin_per_watt: float,
    kilograms: float,
    seconds: float,
    ambient_celsius: float = 25.0,
) -> WarmUp:
    """Return a sink's temperature after a time, taking it as one lump of aluminium.

    watts 0..5000 W, sink 0.01..100 K/W, kilograms 0.001..100 kg, seconds 0..1e6 s.
    Formula: tau = R m c with c = 897 J/(kg K) for aluminium (memory); T = Ta + P R (1 - exp(-t/tau)).
    Caution: CAUTION. A reading before three time constants is not the final temperature.
    Source: single-lump heating (W5.10, W5.12).
    """
    power = within("watts", watts, 0, 5000, "W")
    resistance = within("sink_kelvin_per_watt", sink_kelvin_per_watt, 0.01, 100, "K/W")
    mass = within("kilograms", kilograms, 0.001, 100, "kg")
    time = within("seconds", seconds, 0, 1e6, "s")
    ambient = within("ambient_celsius", ambient_celsius, -40, 100, "C")
    tau = resistance * mass * ALUMINIUM_JOULES_PER_KILOGRAM_KELVIN
    share = -math.expm1(-time / tau)
    return WarmUp(
        tau, ambient + power * resistance, ambient + power * resistance * share, share * 100
    )
