"""A heating curve fitted to readings: where it will settle, how sure that is, and how fast.

T(t) = start + rise (1 - exp(-t / tau)), fitted by least squares (scipy.optimize.curve_fit).
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import OptimizeWarning, curve_fit
from scipy.stats import t as student

from shop.bench.inputs import rising, same_length, series, within

Numbers = NDArray[np.float64]
FEWEST = 4  # three unknowns and one reading to check them by
SETTLED_KELVIN = 1.5  # below this spread of the readings nothing is heating any more


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatingCurve:
    """A fitted curve. `half_width_kelvin` is the half width of the interval for the final value.

    `verdict`: will-settle, will-not-settle or cannot-tell (the interval straddles the limit, or
    the readings do not bend yet).
    """

    start_celsius: float
    final_celsius: float
    half_width_kelvin: float
    time_constant_minutes: float
    settled_minutes: float
    residual_kelvin: float
    verdict: str
    says: str


@dataclass(frozen=True)
class Fit:
    """What least squares found: parameters (start, rise, tau in min) and their covariance."""

    parameters: Numbers
    covariance: Numbers
    residual: float
    freedom: int

    def at(self, minutes: Numbers) -> Numbers:
        """Return the curve in C at these minutes."""
        value: Numbers = _curve(minutes, *self.parameters)
        return value

    def band(self, minutes: Numbers, confidence: float = 0.95) -> Numbers:
        """Return the half width of the confidence band of the curve, in K (delta method)."""
        _, rise, tau = self.parameters
        decay = np.exp(-minutes / tau)
        slope = np.column_stack(
            [np.ones_like(minutes), 1 - decay, -rise * minutes * decay / tau**2]
        )
        variance = np.einsum("ij,jk,ik->i", slope, self.covariance, slope)
        half: Numbers = self._factor(confidence) * np.sqrt(np.maximum(variance, 0))
        return half

    def final(self, confidence: float = 0.95) -> tuple[float, float]:
        """Return the final temperature and the half width of its interval, in C and K."""
        start, rise, _ = self.parameters
        slope = np.array([1.0, 1.0, 0.0])
        variance = float(slope @ self.covariance @ slope)
        half = self._factor(confidence) * math.sqrt(max(variance, 0.0))
        return float(start + rise), half

    def _factor(self, confidence: float) -> float:
        return float(student.ppf((1 + confidence) / 2, max(self.freedom, 1)))


def _curve(minutes: Any, start: float, rise: float, tau: float) -> Any:
    return start + rise * -np.expm1(-minutes / tau)


def fit(
    minutes: Sequence[float], celsius: Sequence[float], start_celsius: float | None = None
) -> Fit:
    """Fit the curve; `start_celsius` holds the start at a known value instead of fitting it.

    ValueError with a sentence when there are fewer than four readings, when time does not go
    forward, or when the readings do not follow such a curve.
    Source: SciPy curve_fit; checked against NIST StRD Misra1a and BoxBOD.
    """
    times = np.array(series("minutes", minutes, low=0, high=1e6, unit="min", fewest=FEWEST))
    heats = np.array(series("celsius", celsius, low=-1e4, high=1e4, unit="C", fewest=FEWEST))
    same_length("minutes", minutes, "celsius", celsius)
    rising("minutes", list(times), "min")
    span = float(times[-1] - times[0])
    begin = float(heats[0]) if start_celsius is None else start_celsius
    guess = [begin, float(heats[-1]) - begin or 1.0, max(span / 2, 1e-3)]
    best = min(
        (
            f
            for tau in (0.2, 0.5, 1.5, 5)
            if (f := _try(times, heats, guess, span * tau, start_celsius))
        ),
        key=lambda candidate: candidate.residual,
        default=None,
    )
    if best is None:
        raise ValueError("The readings do not follow a heating curve; look at them one by one.")
    return best


def _try(
    times: Numbers, heats: Numbers, guess: list[float], tau: float, start: float | None
) -> Fit | None:
    """Fit from one first guess; None when it does not converge."""
    free = [*guess[:2], tau] if start is None else [guess[1], tau]

    def model(minutes: Any, *given: float) -> Any:
        return _curve(minutes, *(given if start is None else (start, *given)))

    try:
        with np.errstate(all="ignore"), _quiet():
            parameters, covariance = curve_fit(
                model, times, heats, p0=free, method="lm", maxfev=20_000, xtol=1e-14, ftol=1e-14
            )
    except (RuntimeError, OptimizeWarning):
        return None
    if parameters[-1] <= 0 or not np.all(np.isfinite(covariance)):
        return None
    left = heats - model(times, *parameters)
    freedom = len(times) - len(parameters)
    whole = np.array(parameters) if start is None else np.array([start, *parameters])
    wide = covariance if start is None else np.pad(covariance, ((1, 0), (1, 0)))
    return Fit(whole, wide, math.sqrt(float(left @ left) / max(freedom, 1)), freedom)


def _quiet() -> Any:
    return warnings.catch_warnings(action="ignore", category=OptimizeWarning)


def heating_curve(
    minutes: Sequence[float], celsius: Sequence[float], limit_celsius: float = 70.0
) -> HeatingCurve:
    """Return where readings will settle, with 95 % confidence, and whether below the limit.

    minutes 0..1e6 min going forward, celsius one reading each, limit 0..300 C; four readings
    at least. `settled_minutes` is four time constants, 98 % of the rise (W5.12).
    ValueError with a sentence.
    Formula: T(t) = T0 + dT (1 - exp(-t/tau)) by least squares; interval from its covariance.
    Caution: CAUTION. A prediction is no proof: the soak runs on, and the limit is judged by readings too.
    Source: single-lump heating (W5.11, W5.12); NIST StRD Misra1a and BoxBOD for the fit.
    """
    limit = within("limit_celsius", limit_celsius, 0, 300, "C")
    heats = series("celsius", celsius, low=-50, high=400, unit="C", fewest=FEWEST)
    if max(heats) - min(heats) <= SETTLED_KELVIN:
        series("minutes", minutes, low=0, high=1e6, unit="min", fewest=FEWEST)
        same_length("minutes", minutes, "celsius", celsius)
        return _flat(heats, limit)
    fitted = fit(minutes, heats)
    final, half = fitted.final()
    start, _, tau = (float(p) for p in fitted.parameters)
    bends = tau <= 2 * (minutes[-1] - minutes[0]) and half < 50
    verdict = _verdict(final, half, limit, bends, max(heats))
    says = _conclusion(final, half, limit, verdict, bends)
    return HeatingCurve(
        start_celsius=start,
        final_celsius=final,
        half_width_kelvin=half,
        time_constant_minutes=tau,
        settled_minutes=4 * tau,
        residual_kelvin=fitted.residual,
        verdict=verdict,
        says=says,
    )


def _flat(heats: list[float], limit: float) -> HeatingCurve:
    mean = sum(heats) / len(heats)
    half = (max(heats) - min(heats)) / 2
    verdict = "will-settle" if max(heats) < limit else "will-not-settle"
    where = "below" if verdict == "will-settle" else "not below"
    says = f"It has settled at {mean:.0f} +- {max(half, 0.5):.1g} C, {where} the {limit:g} C limit."
    return HeatingCurve(
        start_celsius=heats[0],
        final_celsius=mean,
        half_width_kelvin=half,
        time_constant_minutes=0.0,
        settled_minutes=0.0,
        residual_kelvin=half,
        verdict=verdict,
        says=says,
    )


def _verdict(final: float, half: float, limit: float, bends: bool, highest: float) -> str:
    if highest >= limit or (bends and final - half >= limit):
        return "will-not-settle"
    if bends and final + half < limit:
        return "will-settle"
    return "cannot-tell"


def _conclusion(final: float, half: float, limit: float, verdict: str, bends: bool) -> str:
    about = f"{final:.0f} +- {max(half, 0.5):.2g} C"
    if verdict == "will-settle":
        return f"It will settle at {about}, below the {limit:g} C limit."
    if verdict == "will-not-settle":
        return f"It will not settle below the {limit:g} C limit: it goes to {about}."
    if not bends:
        return "The readings do not bend enough yet to say where it settles; go on reading."
    return f"It may settle at {about}; the {limit:g} C limit lies within that. Go on reading."


@dataclass(frozen=True, slots=True)
class ThreeReadings:
    """Final value and time constant from three readings at equal times."""

    final_celsius: float
    time_constant_minutes: float


def three_readings(
    first_celsius: float, second_celsius: float, third_celsius: float, step_minutes: float
) -> ThreeReadings:
    """Return the final temperature from three readings at equal steps: quick, without a margin.

    Temperatures -50..400 C, step 0.01..10,000 min. ValueError when they do not bend towards an end.
    Formula: T = (T1^2 - T0 T2) / (2 T1 - T0 - T2); tau = dt / ln((T1 - T0) / (T2 - T1)).
    Caution: CAUTION. One poor reading moves the answer far: take more and fit them.
    Source: algebra of the exponential (W5.11).
    """
    heats = [
        within(name, value, -50, 400, "C")
        for name, value in (
            ("first_celsius", first_celsius),
            ("second_celsius", second_celsius),
            ("third_celsius", third_celsius),
        )
    ]
    step = within("step_minutes", step_minutes, 0.01, 10_000, "min")
    early, late = heats[1] - heats[0], heats[2] - heats[1]
    if early == 0 or not 0 < late / early < 1:
        raise ValueError(
            f"first, second and third_celsius {heats[0]:g}, {heats[1]:g}, {heats[2]:g} C do not bend towards a final value;"
            " each step must be smaller than the one before, in the same direction."
        )
    final = (heats[1] ** 2 - heats[0] * heats[2]) / (2 * heats[1] - heats[0] - heats[2])
    return ThreeReadings(final, step / math.log(early / late))
