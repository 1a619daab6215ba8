"""Electrolytics: how long they last, how to wake them, when to renew them; impulse levels of X and Y."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, same_length, series, within

HOURS_PER_YEAR = 8766.0
CALENDAR_CAP_YEARS = 15.0  # from memory; about ten years is commonly taken
SafetyClass = Literal["X1", "X2", "Y1", "Y2", "Y4"]
IMPULSE_VOLTS = {"X1": 4000.0, "X2": 2500.0, "Y1": 8000.0, "Y2": 5000.0, "Y4": 2500.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """Expected life at the capacitor's own temperature, and what is left of it."""

    core_celsius: float
    hours: float
    continuous_years: float
    years_in_use: float
    left_years: float
    verdict: str


def electrolytic_life(
    rated_hours: float,
    rated_celsius: float,
    used_celsius: float,
    *,
    ripple_kelvin: float = 0.0,
    rated_ripple_kelvin: float = 5.0,
    hours_per_day: float = 24.0,
    age_years: float = 0.0,
) -> Life:
    """Return the life of an electrolytic by the 10 K rule.

    rated_hours 100..100,000 h at rated_celsius 65..150 C; used_celsius -40..150 C at the case;
    ripple_kelvin 0..50 K of self-heating, rated_ripple_kelvin what the rated life has in it (5 K, from
    memory of makers' notes); hours_per_day 0.01..24 h; age_years 0..150.
    `years_in_use` is capped at 15 years of calendar. Verdict: renew when the age has passed the
    life, too-hot when the case is above its rating, old beyond two thirds of it (common practice), else
    good.
    Formula: L = L0 2^((T0 - T) / 10), T with the ripple's own heating beyond the rated.
    Caution: CAUTION. The rule fits 70 to 90 C; nobody may promise decades from it. A measurement decides.
    Source: makers' application notes, read (W4.1, W4.3, W4.4).
    """
    hours = within("rated_hours", rated_hours, 100, 100_000, "h")
    rated = within("rated_celsius", rated_celsius, 65, 150, "C")
    core = within("used_celsius", used_celsius, -40, 150, "C") + within(
        "ripple_kelvin", ripple_kelvin, 0, 50, "K"
    )
    per_day = within("hours_per_day", hours_per_day, 0.01, 24, "h")
    age = within("age_years", age_years, 0, 150, "years")
    # The rated life was measured with the rated ripple: only heat beyond that shortens it.
    held = within("rated_ripple_kelvin", rated_ripple_kelvin, 0, 50, "K")
    life = hours * 2 ** ((rated - core + min(held, ripple_kelvin)) / 10)
    years = min(life / HOURS_PER_YEAR * 24 / per_day, CALENDAR_CAP_YEARS)
    verdict = "renew" if age >= years else "old" if age >= years * 2 / 3 else "good"
    if used_celsius > rated and verdict != "renew":
        verdict = "too-hot"
    return Life(
        core_celsius=core,
        hours=life,
        continuous_years=life / HOURS_PER_YEAR,
        years_in_use=years,
        left_years=max(0.0, years - age),
        verdict=verdict,
    )


@dataclass(frozen=True, slots=True)
class MixedDuty:
    """Life under several temperatures, and the one temperature that would age it as fast."""

    hours: float
    equivalent_celsius: float
    mean_celsius: float


def mixed_duty(
    rated_hours: float,
    rated_celsius: float,
    celsius: Sequence[float],
    hours_per_day: Sequence[float],
) -> MixedDuty:
    """Return the life of an electrolytic that sees several temperatures each day.

    celsius -40..150 C and hours_per_day 0..24 h, one each. ValueError with a sentence.
    Formula: L = sum(h) / sum(h_i / L_i), L_i by the 10 K rule.
    Caution: CAUTION. The mean temperature flatters: the hot hours count most.
    Source: a power supply maker's published answer (W4.2).
    """
    base = within("rated_hours", rated_hours, 100, 100_000, "h")
    rated = within("rated_celsius", rated_celsius, 65, 150, "C")
    heats = series("celsius", celsius, low=-40, high=150, unit="C")
    shares = series("hours_per_day", hours_per_day, low=0, high=24, unit="h")
    same_length("celsius", heats, "hours_per_day", shares)
    total = sum(shares)
    if not 0 < total <= 24 * (1 + 1e-9):
        raise ValueError(
            f"hours_per_day add up to {total:g} h; they must make more than 0, at most 24."
        )
    used = sum(h / (base * 2 ** ((rated - t) / 10)) for t, h in zip(heats, shares, strict=True))
    life = total / used
    mean = sum(t * h for t, h in zip(heats, shares, strict=True)) / total
    return MixedDuty(life, rated - 10 * math.log2(life / base), mean)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reforming:
    """How to bring an idle electrolytic back, and when to give it up."""

    series_ohms: float
    shorted_milliamps: float
    resistor_watts: float
    start_volts: float
    step_volts: float
    steps: int
    hold_hours: float
    leakage_limit_milliamps: float
    needed: str
    says: str


def reforming(rated_volts: float, microfarads: float, idle_years: float) -> Reforming:
    """Return a plan for re-forming an electrolytic out of circuit.

    rated_volts 3..630 V, microfarads 0.1..1e6 uF, idle_years 0..150. `needed`: no below three
    years of rest, test up to four, yes beyond. The series resistor is 10 kohm up to 75 V, else
    100 kohm; the voltage goes up in steps of a tenth so that 1 mA is not passed for long.
    The limit is the lowest of three: JAN-C-62, 0.03 C V in uA, and a tenth of what a short would
    draw through the resistor: with more the capacitor does not come up to nine tenths.
    Formula: leakage limit I(mA) = K C(uF) + 0.3 with K 0.01, 0.02, 0.025, 0.04 by voltage (JAN-C-62).
    Caution: DANGER. The capacitor holds its charge afterwards: discharge, wait, measure. Goggles on.
    Source: a capacitor maker's note of 1993 and JAN-C-62, both read (W4.5, W4.7); 0.03 C V of IEC 60384-4 from memory. Recipes disagree: record which.
    """
    volts = within("rated_volts", rated_volts, 3, 630, "V")
    capacity = within("microfarads", microfarads, 0.1, 1e6, "uF")
    idle = within("idle_years", idle_years, 0, 150, "years")
    ohms = 10_000.0 if volts <= 75 else 100_000.0
    needed = "no" if idle < 3 else "test" if idle < 4 else "yes"
    says = {
        "no": "It needs no re-forming; measure it.",
        "test": "Measure its leakage at rated voltage; re-form it when that is over the limit.",
        "yes": "Raise the voltage in steps, each until the current is below 1 mA, then hold it.",
    }[needed]
    limit = min(leakage_limit(volts, capacity), 3e-5 * capacity * volts, volts / ohms * 100)
    return Reforming(
        series_ohms=ohms,
        shorted_milliamps=volts / ohms * 1000,
        resistor_watts=volts**2 / ohms,
        start_volts=volts / 10,
        step_volts=volts / 10,
        steps=10,
        hold_hours=4.0,
        leakage_limit_milliamps=limit,
        needed=needed,
        says=says,
    )


def leakage_limit(rated_volts: float, microfarads: float) -> float:
    """Return the acceptable leakage in mA by JAN-C-62, read second-hand (W4.5)."""
    for most, factor in ((100, 0.01), (250, 0.02), (350, 0.025)):
        if rated_volts <= most:
            return factor * microfarads + 0.3
    return 0.04 * microfarads + 0.3


@dataclass(frozen=True, slots=True)
class Condition:
    """Whether a measured electrolytic stays."""

    least_microfarads: float
    change_percent: float
    verdict: str
    says: str


def electrolytic_condition(
    marked_microfarads: float,
    measured_microfarads: float,
    esr_ratio: float = 1.0,
    leaking: bool = False,
) -> Condition:
    """Return whether an electrolytic is renewed, by what the meter and the eye say.

    marked_microfarads 0.1..1e6 uF, measured 0..2e6 uF, esr_ratio 0..1000 (measured over new).
    Formula: renew below 80 % of the marked value or 1.5 times above it, above twice the new ESR, or when it bulges or leaks.
    Caution: CAUTION. In-circuit readings only indicate; lift a leg before you condemn a part.
    Source: end-of-life criteria of data sheets, from memory; common practice (W4.8).
    """
    marked = within("marked_microfarads", marked_microfarads, 0.1, 1e6, "uF")
    measured = within("measured_microfarads", measured_microfarads, 0, 2e6, "uF")
    ratio = within("esr_ratio", esr_ratio, 0, 1000, "times")
    least, change = 0.8 * marked, (measured / marked - 1) * 100
    reasons = []
    if leaking:
        reasons.append("it bulges or leaks")
    if measured < least:
        reasons.append(f"{measured:g} uF is below {least:g} uF")
    if measured > 1.5 * marked:
        reasons.append(f"{measured:g} uF is far above {marked:g} uF, as leakage makes a meter show")
    if ratio > 2:
        reasons.append(f"its ESR is {ratio:g} times that of a new one")
    says = f"Renew it: {'; '.join(reasons)}." if reasons else "It may stay."
    return Condition(least, change, "renew" if reasons else "stays", says)


@dataclass(frozen=True, slots=True)
class Impulse:
    """The impulse that a suppression capacitor has to stand."""

    impulse_volts: float


def impulse_level(safety_class: SafetyClass, microfarads: float) -> Impulse:
    """Return the impulse test voltage of an X or Y capacitor.

    microfarads 1e-6..100 uF. Above 1 uF the level of X1, X2 and Y2 falls with the root of C.
    Formula: Up = U0 / sqrt(C / 1 uF) above 1 uF.
    Caution: WARNING. Line to earth takes a Y type and nothing else: its failure is a shock.
    Source: IEC 60384-14 as told in two published notes (W4.6).
    """
    level = IMPULSE_VOLTS[one_of("safety_class", safety_class, tuple(IMPULSE_VOLTS))]
    capacity = within("microfarads", microfarads, 1e-6, 100, "uF")
    if capacity > 1 and safety_class in ("X1", "X2", "Y2"):
        level /= math.sqrt(capacity)
    return Impulse(level)
