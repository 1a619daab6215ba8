"""A heating curve of readings: where it will settle, how sure that is, and how fast.

`fit` takes one time constant by least squares (scipy.optimize.curve_fit); `heating_curve` weighs
one, two, and a part that runs away (`lumps`), and says when the readings cannot tell.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy
from numpy.typing import NDArray

from shop.bench.electrical import lumps
from shop.bench.electrical.mixtures import Mixture
from shop.bench.inputs import rising, same_length, series, within

Numbers = NDArray[np.float64]
FEWEST = 4  # three unknowns and one reading to check them by
SETTLED_KELVIN = 1.0  # less than this in the next hour, as sure as a forecast: common practice
SURE = 0.975  # one side of a 95 % band
SCATTER_KELVIN = 2.0  # more about the best curve is no noise of a probe: common practice
WIDEST_KELVIN = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatingCurve:
    """A fitted curve. `half_width_kelvin` is the half width of the interval for the final value.

    `verdict`: has-settled or will-settle (below the limit), will-not-settle, or cannot-tell (the
    interval straddles the limit, the readings do not bend yet, or follow no heating curve).
    `fast_time_constant_minutes`: of the sink, where the readings show a slower box about it.
    """

    start_celsius: float
    final_celsius: float
    half_width_kelvin: float
    time_constant_minutes: float
    fast_time_constant_minutes: float | None
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

    def final(self, confidence: float = 0.95) -> tuple[float, float]:
        """Return the final temperature and the half width of its interval, in C and K."""
        start, rise, _ = self.parameters
        slope = np.array([1.0, 1.0, 0.0])
        variance = float(slope @ self.covariance @ slope)
        half = self._factor(confidence) * math.sqrt(max(variance, 0.0))
        return float(start + rise), half

    def _factor(self, confidence: float) -> float:
        # Not scipy.stats.t, which is this function after a second of loading.
        return float(scipy.special.stdtrit(max(self.freedom, 1), (1 + confidence) / 2))


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
    times, heats = _readings(minutes, celsius, -1e4, 1e4)
    best = _best(times, heats, start_celsius)
    if best is None:
        raise ValueError("The readings do not follow a heating curve; look at them one by one.")
    return best


def _best(times: Numbers, heats: Numbers, start: float | None) -> Fit | None:
    """Return the best fit from four first guesses; None when none converges."""
    span = float(times[-1] - times[0])
    begin = float(heats[0]) if start is None else start
    guess = [begin, float(heats[-1]) - begin or 1.0, max(span / 2, 1e-3)]
    tried = (_try(times, heats, guess, span * tau, start) for tau in (0.2, 0.5, 1.5, 5))
    found = [candidate for candidate in tried if candidate is not None]
    return min(found, key=lambda candidate: candidate.residual, default=None)


def _try(
    times: Numbers, heats: Numbers, guess: list[float], tau: float, start: float | None
) -> Fit | None:
    """Fit from one first guess; None when it does not converge."""
    free = [*guess[:2], tau] if start is None else [guess[1], tau]

    def model(minutes: Any, *given: float) -> Any:
        return _curve(minutes, *(given if start is None else (start, *given)))

    try:
        with np.errstate(all="ignore"), _quiet():
            parameters, covariance = scipy.optimize.curve_fit(
                model, times, heats, p0=free, method="lm", maxfev=20_000, xtol=1e-14, ftol=1e-14
            )
    except (RuntimeError, scipy.optimize.OptimizeWarning):
        return None
    if parameters[-1] <= 0 or not np.all(np.isfinite(covariance)):
        return None
    left = heats - model(times, *parameters)
    freedom = len(times) - len(parameters)
    whole = np.array(parameters) if start is None else np.array([start, *parameters])
    wide = covariance if start is None else np.pad(covariance, ((1, 0), (1, 0)))
    return Fit(whole, wide, math.sqrt(float(left @ left) / max(freedom, 1)), freedom)


def _quiet() -> Any:
    return warnings.catch_warnings(action="ignore", category=scipy.optimize.OptimizeWarning)


def weighed(minutes: Sequence[float], celsius: Sequence[float]) -> lumps.Weighed:
    """Return what the readings allow, with the band of the curve; ValueError as for `heating_curve`."""
    return lumps.weigh(*_readings(minutes, celsius, -50, 400))


def heating_curve(
    minutes: Sequence[float], celsius: Sequence[float], limit_celsius: float = 70.0
) -> HeatingCurve:
    """Return where readings will settle, with 95 % confidence, and whether below the limit.

    minutes 0..1e6 min going forward, celsius one reading each, limit 0..300 C; four readings
    at least. The readings choose between one time constant, two (a sink in its box) and a part
    that runs away; what they cannot tell apart widens the margin. `settled_minutes` is four times
    the slower one, 98 % of the rise (W5.12). ValueError with a sentence.
    Formula: T(t) = T0 + sum of dT (1 - exp(-t/tau)), weighed by Bayes' rule over one and two tau.
    Caution: CAUTION. A prediction is no proof: the soak runs on, and the limit is judged by readings too.
    Source: sums of lumps (W5.11, W5.12); bands and verdicts by tests/benchmarks/heating.py.
    """
    limit = within("limit_celsius", limit_celsius, 0, 300, "C")
    times, heats = _readings(minutes, celsius, -50, 400)
    weighed = lumps.weigh(times, heats)
    forecast = _forecast(weighed, times, heats)
    left = weighed.residual(times, heats)
    misfit = _misfit(left)
    verdict = "cannot-tell" if misfit else _verdict(weighed, forecast, limit)
    if heats.max() >= limit:
        verdict = "will-not-settle"
    return HeatingCurve(
        start_celsius=forecast.start,
        final_celsius=forecast.final,
        half_width_kelvin=forecast.half,
        time_constant_minutes=forecast.slow,
        fast_time_constant_minutes=forecast.fast,
        settled_minutes=0.0 if verdict == "has-settled" else 4 * forecast.slow,
        residual_kelvin=math.sqrt(float(left @ left) / max(len(times) - 3, 1)),
        verdict=verdict,
        says=misfit or _conclusion(weighed, forecast, limit, verdict, float(heats.max())),
    )


def _readings(
    minutes: Sequence[float], celsius: Sequence[float], low: float, high: float
) -> tuple[Numbers, Numbers]:
    """Return times and temperatures; ValueError when too few, no numbers, or time goes back."""
    times = np.array(series("minutes", minutes, low=0, high=1e6, unit="min", fewest=FEWEST))
    heats = np.array(series("celsius", celsius, low=low, high=high, unit="C", fewest=FEWEST))
    same_length("minutes", minutes, "celsius", celsius)
    rising("minutes", list(times), "min")
    return times, heats


@dataclass(frozen=True, slots=True)
class _Forecast:
    """Start, final value and its half width in C and K, slower and faster time constant in min."""

    start: float
    final: float
    half: float
    slow: float
    fast: float | None


def _forecast(weighed: lumps.Weighed, times: Numbers, heats: Numbers) -> _Forecast:
    final = weighed.final
    if not final.weight.size:
        slow, _ = weighed.time_constants(lumps.RUNAWAY)
        return _Forecast(weighed.start(), float(heats[-1]), WIDEST_KELVIN, slow, None)
    start, middle, slow, fast = _point(weighed, final, times, heats)
    # A part that warms up cannot settle below where it is.
    if heats[-1] > heats[0]:
        middle = max(middle, float(heats[-1]))
    return _Forecast(start, middle, min(final.half_width(middle), WIDEST_KELVIN), slow, fast)


def _point(
    weighed: lumps.Weighed, final: Mixture, times: Numbers, heats: Numbers
) -> tuple[float, float, float, float | None]:
    """Return start, final value, slower and faster time constant that explain the readings best."""
    middle = final.quantile(0.5)
    if weighed.share_of(lumps.TWO) > weighed.share_of(lumps.ONE):
        fast, slow = weighed.time_constants(lumps.TWO)
        return weighed.start(), middle, slow, fast
    _, slow = weighed.time_constants(lumps.ONE)
    exact = _best(times, heats, None)
    if exact and _within(final, exact.final()[0]):
        start, rise, tau = (float(p) for p in exact.parameters)
        return start, start + rise, tau, None
    return weighed.start(), middle, slow, None


def _within(final: Mixture, value: float) -> bool:
    """Whether a value lies in the 95 % interval."""
    return final.reaches(1 - SURE, value) and not final.reaches(SURE, value)


def _misfit(left: Numbers) -> str:
    """Return why the readings follow no heating curve, or nothing."""
    scatter = math.sqrt(float(left @ left) / max(len(left) - 3, 1))
    if scatter > SCATTER_KELVIN:
        return (
            f"The readings scatter by {scatter:.1f} K about any heating curve; look at them one by"
            " one: the probe, the level, the room."
        )
    if scatter > 0.3 and len(left) >= 10 and _runs(left) < len(left) / 4:
        return (
            "The readings leave any heating curve for a while, to one side: something changed"
            " meanwhile. It cannot be told where they settle."
        )
    return ""


def _runs(left: Numbers) -> int:
    """Return how often the readings change the side of the curve, and one."""
    return 1 + int(np.count_nonzero(np.diff(left > 0)))


def _rests(weighed: lumps.Weighed, kelvin: float, minutes: float = math.inf) -> bool:
    """Whether it goes no farther than this yet, up or down, in these minutes at most."""
    still = weighed.still_to_come(minutes)
    return still.reaches(SURE, kelvin) and not still.reaches(1 - SURE, -kelvin)


def _verdict(weighed: lumps.Weighed, forecast: _Forecast, limit: float) -> str:
    below = weighed.final.below(limit)
    if below > SURE:
        settled = _rests(weighed, SETTLED_KELVIN, 60.0) and _rests(weighed, 2 * SETTLED_KELVIN)
        return "has-settled" if settled else "will-settle"
    if weighed.accelerates() > 0.9:
        return "will-not-settle"
    if weighed.share_of(lumps.RUNAWAY) < 0.5 and below < 1 - SURE and forecast.half < 50:
        return "will-not-settle"
    return "cannot-tell"


def _conclusion(
    weighed: lumps.Weighed, forecast: _Forecast, limit: float, verdict: str, highest: float
) -> str:
    about = f"{forecast.final:.0f} +- {max(forecast.half, 0.5):.2g} C"
    if verdict == "has-settled":
        return f"It has settled at {about}, below the {limit:g} C limit."
    if verdict == "will-settle":
        return f"It will settle at {about}, below the {limit:g} C limit."
    if verdict == "will-not-settle":
        return _beyond(weighed, about, limit, highest)
    if forecast.half >= 25 or weighed.share_of(lumps.RUNAWAY) >= 0.5:
        return "The readings do not bend enough yet to say where it settles; go on reading."
    return f"It may settle at {about}; the {limit:g} C limit lies within that. Go on reading."


def _beyond(weighed: lumps.Weighed, about: str, limit: float, highest: float) -> str:
    if weighed.accelerates() > 0.5:
        return (
            f"It will not settle below the {limit:g} C limit: it heats faster and faster."
            " Take mains off and look at its bias."
        )
    if highest >= limit:
        return f"It will not settle below the {limit:g} C limit: it was at {highest:.4g} C."
    return f"It will not settle below the {limit:g} C limit: it goes to {about}."


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
