"""Filters, damping networks, and what a load is by its readings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.electrical.preferred_values import at_least
from shop.bench.inputs import one_of, whole, within


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A frequency, and the resistance, capacitance and inductance that are alike at it."""

    hertz: float
    ohms: float
    microfarads: float
    millihenries: float


def corner(
    ohms: float | None = None,
    microfarads: float | None = None,
    millihenries: float | None = None,
    hertz: float | None = None,
) -> Corner:
    """Return corner or resonance from two of four values, and the parts that would go with it.

    ohms 0.001..1e9 ohm, microfarads 1e-7..1e6 uF, millihenries 1e-6..1e6 mH, hertz 0.0001..1e9 Hz:
    exactly two. Resistor with capacitor or coil: the frequency is the -3 dB corner. Coil with
    capacitor: it is the resonance and ohms the reactance of each there.
    Formula: R = 1 / (2 pi f C) = 2 pi f L.
    Caution: NOTICE. Source and load belong to the resistance; a stage before and after shifts the corner.
    Source: reactances of textbooks.
    """
    r = None if ohms is None else within("ohms", ohms, 1e-3, 1e9, "ohm")
    c = None if microfarads is None else within("microfarads", microfarads, 1e-7, 1e6, "uF") * 1e-6
    coil = None
    if millihenries is not None:
        coil = within("millihenries", millihenries, 1e-6, 1e6, "mH") * 1e-3
    w = None if hertz is None else 2 * math.pi * within("hertz", hertz, 1e-4, 1e9, "Hz")
    x, angular = _alike(r, c, coil, w)
    return Corner(
        hertz=angular / (2 * math.pi),
        ohms=x,
        microfarads=1e6 / (angular * x),
        millihenries=1e3 * x / angular,
    )


def _alike(
    r: float | None, c: float | None, coil: float | None, w: float | None
) -> tuple[float, float]:
    """Return reactance and angular frequency from two of the four; ValueError for more or fewer."""
    match (r, c, coil, w):
        case (float(), float(), None, None):
            return r, 1 / (r * c)
        case (float(), None, float(), None):
            return r, r / coil
        case (None, float(), float(), None):
            return math.sqrt(coil / c), 1 / math.sqrt(coil * c)
        case (float(), None, None, float()):
            return r, w
        case (None, float(), None, float()):
            return 1 / (w * c), w
        case (None, None, float(), float()):
            return w * coil, w
    given = sum(value is not None for value in (r, c, coil, w))
    raise ValueError(
        f"{given} of ohms, microfarads, millihenries and hertz are given; it takes exactly two."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossover:
    """The parts of both branches, in their order from the amplifier."""

    low_millihenries: tuple[float, ...]
    low_microfarads: tuple[float, ...]
    high_microfarads: tuple[float, ...]
    high_millihenries: tuple[float, ...]
    says: str


Alignment = Literal["Butterworth", "Linkwitz-Riley"]
_ROOT = math.sqrt(2)
# Ladder elements for a source without resistance, from the source on, at 1 ohm and 1 rad/s.
LADDERS: dict[tuple[str, int], tuple[float, ...]] = {
    ("Butterworth", 1): (1.0,),
    ("Butterworth", 2): (_ROOT, 1 / _ROOT),
    ("Butterworth", 3): (3 / 2, 4 / 3, 1 / 2),
    ("Butterworth", 4): (1.530734, 1.577161, 1.082392, 0.382683),
    ("Linkwitz-Riley", 2): (2.0, 1 / 2),
    ("Linkwitz-Riley", 4): (4 * _ROOT / 3, 9 / (4 * _ROOT), 2 * _ROOT / 3, 1 / (2 * _ROOT)),
}
_POLARITY = {
    1: "Both drivers the same way round.",
    2: "Turn one driver round: at the crossover they are half a cycle apart.",
    3: "Either way round; listen, and measure.",
    4: "Both drivers the same way round.",
}


def crossover(
    hertz: float, ohms: float, order: float = 2, alignment: Alignment = "Linkwitz-Riley"
) -> Crossover:
    """Return the parts of a passive two-way crossover.

    hertz 20..20,000 Hz, ohms 1..100 ohm of each driver there (with its Zobel, else it is no
    resistance), order 1..4 (6 dB per octave each), alignment Butterworth 1 to 4 or Linkwitz-Riley 2
    and 4. Low branch: coils in series, capacitors across; high branch the other way.
    Formula: L = R g / (2 pi f), C = g / (2 pi f R); high branch with 1 / g. g: ladder of the alignment.
    Caution: NOTICE. A driver is no resistor: Zobel first, then listen at low level with a spare capacitor before the tweeter.
    Source: published crossover formulas after a loudspeaker handbook, read; ladders by continued fraction.
    """
    angular = 2 * math.pi * within("hertz", hertz, 20, 20_000, "Hz")
    load = within("ohms", ohms, 1, 100, "ohm")
    steps = whole("order", order, 1, 4)
    kind = one_of("alignment", alignment, ("Butterworth", "Linkwitz-Riley"))
    if (kind, steps) not in LADDERS:
        raise ValueError(f"order is {steps}; Linkwitz-Riley takes 2 or 4.")
    ladder = LADDERS[kind, steps]
    coil, capacitor = load / angular * 1e3, 1e6 / (angular * load)
    return Crossover(
        low_millihenries=tuple(g * coil for g in ladder[::2]),
        low_microfarads=tuple(g * capacitor for g in ladder[1::2]),
        high_microfarads=tuple(capacitor / g for g in ladder[::2]),
        high_millihenries=tuple(coil / g for g in ladder[1::2]),
        says=_POLARITY[steps],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Zobel:
    """The network across a driver that makes its voice coil look like a resistor."""

    microfarads: float
    ohms: float
    practical_ohms: float


def zobel(coil_ohms: float, coil_millihenries: float) -> Zobel:
    """Return resistor and capacitor, in series, across a driver.

    coil_ohms 0.5..100 ohm d.c. of the voice coil, coil_millihenries 0.01..20 mH. `ohms` is exact for a
    coil that is one; practical_ohms is a quarter more, for the iron (from memory of a loudspeaker handbook).
    Formula: R = Re, C = Le / Re^2.
    Caution: NOTICE. An amplifier that rings into the bare cable keeps its own Zobel: this one does not stand in for it.
    Source: dual network of textbooks.
    """
    resistance = within("coil_ohms", coil_ohms, 0.5, 100, "ohm")
    henries = within("coil_millihenries", coil_millihenries, 0.01, 20, "mH") * 1e-3
    return Zobel(
        microfarads=henries / resistance**2 * 1e6,
        ohms=resistance,
        practical_ohms=1.25 * resistance,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Snubber:
    """What rings, and the network across it that stops it."""

    stray_picofarads: float
    stray_microhenries: float
    ohms: float
    picofarads: float
    watts: float


def snubber(
    ring_kilohertz: float,
    added_picofarads: float,
    slower_kilohertz: float,
    step_volts: float,
    switching_kilohertz: float,
) -> Snubber:
    """Return resistor and capacitor of a snubber from two ringing frequencies on the oscilloscope.

    ring_kilohertz 1..500,000 kHz as it rings, slower_kilohertz with added_picofarads 1..1e6 pF
    across the same two points (half the frequency is best: then the stray capacitance is a third of
    it); step_volts 0.1..2000 V of the edge, switching_kilohertz 0.04..5000 kHz (100 Hz for a rectifier at
    50 Hz). The capacitor is the next higher of E6 from three times the stray one.
    Formula: C0 = Ca / ((f0/f1)^2 - 1); L = 1 / ((2 pi f0)^2 C0); R = sqrt(L / C0); P = C V^2 f.
    Caution: DANGER. On the primary side the probe's ground clip is a short through the oscilloscope: isolating transformer, or a differential probe.
    Source: published snubber design by added capacitance, read; three times: makers' notes, from memory.
    """
    ring = within("ring_kilohertz", ring_kilohertz, 1, 500_000, "kHz") * 1e3
    slower = within("slower_kilohertz", slower_kilohertz, 1, 500_000, "kHz") * 1e3
    added = within("added_picofarads", added_picofarads, 1, 1e6, "pF") * 1e-12
    volts = within("step_volts", step_volts, 0.1, 2000, "V")
    often = within("switching_kilohertz", switching_kilohertz, 0.04, 5000, "kHz") * 1e3
    if slower > 0.95 * ring:
        raise ValueError(
            f"slower_kilohertz is {slower / 1e3:g} kHz; it must be at least 5 % below"
            f" ring_kilohertz, {ring / 1e3:g} kHz: add more."
        )
    stray = added / ((ring / slower) ** 2 - 1)
    henries = 1 / ((2 * math.pi * ring) ** 2 * stray)
    farads = at_least(3 * stray * 1e12, "E6") * 1e-12
    return Snubber(
        stray_picofarads=stray * 1e12,
        stray_microhenries=henries * 1e6,
        ohms=math.sqrt(henries / stray),
        picofarads=farads * 1e12,
        watts=farads * volts**2 * often,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Impedance:
    """An impedance by the voltages across it and across a known resistor in series."""

    impedance_ohms: float
    phase_degrees: float | None
    highest_rated_ohms: float
    verdict: str | None


def impedance(
    load_volts: float,
    resistor_volts: float,
    resistor_ohms: float,
    total_volts: float | None = None,
    rated_ohms: float | None = None,
) -> Impedance:
    """Return the impedance of a loudspeaker or an input from two readings, its phase from three.

    load_volts and resistor_volts 1e-5..1000 V a.c. at one frequency, resistor_ohms 0.01..1e7 ohm in
    series, total_volts across both. rated_ohms 0.5..1e6 ohm of the plate. Verdict: below-rated when
    less than 80 % of it, else pass; none without a rating. Ask at the lowest point of the curve.
    highest_rated_ohms is the highest rating that this reading bears. Sign of the phase unknown.
    Formula: Z = R Vz / Vr; cos phi = (V^2 - Vr^2 - Vz^2) / (2 Vr Vz).
    Caution: CAUTION. Sweep at low level: at resonance a driver moves far with little power.
    Source: IEC 60268-5, rated impedance and 80 % of it, from memory.
    """
    load = within("load_volts", load_volts, 1e-5, 1000, "V")
    across = within("resistor_volts", resistor_volts, 1e-5, 1000, "V")
    ohms = within("resistor_ohms", resistor_ohms, 0.01, 1e7, "ohm") * load / across
    phase = None if total_volts is None else _phase_degrees(load, across, total_volts)
    verdict = None
    if rated_ohms is not None:
        rated = within("rated_ohms", rated_ohms, 0.5, 1e6, "ohm")
        verdict = "pass" if ohms >= 0.8 * rated * (1 - 1e-9) else "below-rated"
    return Impedance(
        impedance_ohms=ohms,
        phase_degrees=phase,
        highest_rated_ohms=ohms / 0.8,
        verdict=verdict,
    )


def _phase_degrees(load: float, across: float, total_volts: float) -> float:
    total = within("total_volts", total_volts, 1e-5, 2000, "V")
    cosine = (total**2 - load**2 - across**2) / (2 * load * across)
    # A reading or two in the last digit may make a resistor of more than one.
    if not -0.02 <= cosine <= 1.02:
        raise ValueError(
            f"total_volts is {total:g} V; with {load:g} V and {across:g} V in series it must be from"
            f" {math.hypot(load, across):.3g} to {load + across:.3g} V."
        )
    return math.degrees(math.acos(min(1.0, max(0.0, cosine))))
