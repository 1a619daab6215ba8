"""What a fuse has to stand and to break: pulses, inrush, alternating and direct current."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, within

Shape = Literal["rectangle", "half-sine", "triangle", "decay"]
# I^2 t of a pulse as a share of its peak squared times its time; read in a fuse maker's guide.
_SHARES = {"rectangle": 1.0, "half-sine": 1 / 2, "triangle": 1 / 3, "decay": 1 / 2}
# Of the melting I^2 t, what so many pulses may have in their life; read in the same guide.
_PULSES = ((100, 48.0), (1_000, 38.0), (10_000, 29.0), (100_000, 22.0))
# IEC 60127-2 and UL 248-14 test breaking at 250 V a.c.
_KINDS_HOLD_TO_VOLTS = 250.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseDuty:
    """The I2t of a pulse, and whether a fuse stands it as often as wanted."""

    pulse_ampere_squared_seconds: float
    allowed_percent: float
    needed_ampere_squared_seconds: float
    verdict: str


def pulse_duty(
    peak_amps: float,
    milliseconds: float,
    shape: Shape = "decay",
    melting_ampere_squared_seconds: float | None = None,
    pulses: float = 10_000.0,
) -> PulseDuty:
    """Return the I2t of a pulse and what the fuse must have, to stand it so often.

    peak_amps 0.001..100,000 A; milliseconds 0.001..1e5: of a decay its time constant, else how long it
    lasts; melting 1e-6..1e7 A2s by the data sheet of the fuse; pulses 1..100,000, ten seconds apart.
    Formula: I2t = share x peak^2 x time; share 1 rectangle, 1/2 half sine, 1/3 triangle, 1/2 decay;
    needed = I2t / allowed share of the melting I2t.
    Caution: WARNING. The marked fuse goes in, and no larger one: a fuse that dies of inrush has a cause.
    Source: a fuse maker's guide, read: 48 % for 100 pulses, 38 % for 1,000, 29 % for 10,000, 22 % for 100,000.
    """
    one_of("shape", shape, tuple(_SHARES))
    amps = within("peak_amps", peak_amps, 1e-3, 1e5, "A")
    integral = (
        _SHARES[shape] * amps**2 * within("milliseconds", milliseconds, 1e-3, 1e5, "ms") / 1000
    )
    count = within("pulses", pulses, 1, 100_000, "")
    allowed = next(share for most, share in _PULSES if count <= most)
    needed = integral / allowed * 100
    verdict = "not-compared"
    if melting_ampere_squared_seconds is not None:
        melting = within(
            "melting_ampere_squared_seconds", melting_ampere_squared_seconds, 1e-6, 1e7, "A2s"
        )
        verdict = "stands-it" if melting >= needed * (1 - 1e-9) else "too-weak"
    return PulseDuty(
        pulse_ampere_squared_seconds=integral,
        allowed_percent=allowed,
        needed_ampere_squared_seconds=needed,
        verdict=verdict,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Inrush:
    """What rushes into an empty reservoir when the switch closes."""

    peak_amps: float
    time_constant_milliseconds: float
    energy_j: float
    inrush_ampere_squared_seconds: float


def inrush(rms_volts: float, series_ohms: float, microfarads: float) -> Inrush:
    """Return the inrush into a reservoir behind a rectifier, closed at the peak of the mains.

    rms_volts 1..1000 V; series_ohms 0.01..10,000 ohm of NTC cold, winding, wires and reservoir together;
    microfarads 0.1..1e6 uF.
    Formula: peak = sqrt(2) V / R; I2t = E / R with E = C V^2, the energy of the reservoir at the peak
    being half of that: I2t = C Vpk^2 / (2 R).
    Caution: WARNING. A warm NTC limits nothing: off, wait a minute, on again; never bridge it.
    Source: charging through a resistor burns in it as much as it stores; textbook physics.
    """
    peak = math.sqrt(2) * within("rms_volts", rms_volts, 1, 1000, "V")
    ohms = within("series_ohms", series_ohms, 0.01, 1e4, "ohm")
    farads = 1e-6 * within("microfarads", microfarads, 0.1, 1e6, "uF")
    energy = farads * peak**2 / 2
    return Inrush(
        peak_amps=peak / ohms,
        time_constant_milliseconds=1e3 * ohms * farads,
        energy_j=energy,
        inrush_ampere_squared_seconds=energy / ohms,
    )


Kind = Literal["L", "H", "E", "UL-250", "other"]
Current = Literal["ac", "dc"]
KINDS = ("L", "H", "E", "UL-250", "other")
# UL 248-14, least interrupting rating at 250 V a.c. up to so many amperes; read in a fuse maker's guide.
_UL_BREAKING = ((1.0, 35.0), (3.5, 100.0), (10.0, 200.0), (15.0, 750.0), (30.0, 1500.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseRating:
    """Whether a fuse-link can break what a circuit can drive through it."""

    prospective_amps: float
    breaking_amps: float | None
    verdict: str
    says: str


def fuse_rating(
    rated_amps: float,
    fuse_volts: float,
    circuit_volts: float,
    loop_ohms: float,
    kind: Kind = "L",
    fuse_current: Current = "ac",
    circuit_current: Current = "ac",
    breaking_amps: float | None = None,
) -> FuseRating:
    """Return whether a fuse-link may stand in a circuit by its voltage, its kind of current, its breaking capacity.

    rated_amps 0.03..30 A; fuse_volts 1..1000 V as marked, for alternating or direct current; circuit_volts
    1..1000 V; loop_ohms 0.001..1000 ohm of source and wires into a short; kind L, H or E by IEC 60127-2, UL-250 by
    UL 248-14 at 250 V, or other, with its breaking_amps 1..200,000 A. The kinds hold up to 250 V a.c.;
    above that and on direct current the fuse's own breaking_amps count.
    Formula: prospective current = V / R; L: 35 A or ten times its rating; H: 1500 A; E: 150 A.
    Caution: DANGER. A fuse that cannot break burns on as an arc. Mark, speed and breaking class as the plate says.
    Source: IEC 60127-2 breaking capacities, from memory; UL 248-14 read in a fuse maker's guide.
    """
    rated = within("rated_amps", rated_amps, 0.03, 30, "A")
    marked = within("fuse_volts", fuse_volts, 1, 1000, "V")
    volts = within("circuit_volts", circuit_volts, 1, 1000, "V")
    shorted = volts / within("loop_ohms", loop_ohms, 1e-3, 1000, "ohm")
    one_of("kind", kind, KINDS)
    direct = one_of("circuit_current", circuit_current, ("ac", "dc")) == "dc"
    given = one_of("fuse_current", fuse_current, ("ac", "dc"))
    plain = given == "ac" and volts <= _KINDS_HOLD_TO_VOLTS
    breaks = _breaking(kind if plain else "other", rated, breaking_amps)
    why = _against(marked, volts, shorted, breaks, direct=direct, given=given)
    if why:
        return FuseRating(prospective_amps=shorted, breaking_amps=breaks, verdict="no", says=why)
    says = f"It may: {marked:g} V and {breaks:g} A are enough for {volts:g} V and {shorted:.3g} A."
    return FuseRating(prospective_amps=shorted, breaking_amps=breaks, verdict="fits", says=says)


def _breaking(kind: str, rated: float, given: float | None) -> float | None:
    """Return what it can break, in A, or None where nobody said so."""
    if given is not None:
        return within("breaking_amps", given, 1, 200_000, "A")
    if kind == "other":
        return None
    if kind == "UL-250":
        return next(amps for most, amps in _UL_BREAKING if rated <= most)
    return {"L": max(35.0, 10 * rated), "H": 1500.0, "E": 150.0}[kind]


def _against(
    marked: float, volts: float, shorted: float, breaks: float | None, *, direct: bool, given: str
) -> str:
    """Return why it may not, or nothing."""
    if direct and given == "ac":
        return "No: its volts are for alternating current. Direct current does not go out by itself: look for its d.c. rating."
    if not direct and given == "dc":
        return "No: its volts are for direct current. Look for its a.c. rating."
    if marked < volts:
        return f"No: it is marked {marked:g} V, the circuit has {volts:g} V."
    if breaks is None:
        return "No: its breaking capacity is not known. Look it up and give it as breaking_amps."
    if breaks < shorted:
        return f"No: a short drives {shorted:.3g} A, it breaks {breaks:g} A. Take the breaking class that is marked."
    return ""
