"""What readings of a warming part allow: one lump, two lumps, or a part that runs away.

Each shape is T0 + R g(t). g of one lump is 1 - exp(-t/tau); of two, a share s of it is the slow
one (the box); of a runaway, a share of it grows. A passive network heats by such sums alone, all
shares above nothing. Every shape of a grid is weighed by how well it explains the readings
(Bayes' rule; T0 and R by the closed form of a straight line), so the margin of a forecast holds
what the readings cannot tell apart, and not the scatter about one chosen curve.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import scipy
from numpy.typing import NDArray

from shop.bench.electrical.mixtures import Mixture

Numbers = NDArray[np.float64]
ONE, TWO, RUNAWAY = 0, 1, 2
# How often each is met before a reading is looked at; tuned with tests/benchmarks/heating.py on
# sinks, boxes and runaways of every kind, so that 95 % bands hold 95 %. Common practice.
_PRIOR = (0.6, 0.27, 0.13)
_RISE_KELVIN = 60.0  # a rise is of this order
_NOISE = np.geomspace(0.05, 2.0, 10)  # of one reading, in K: a probe held by hand is about 0.3
_NOISE_PRIOR = np.exp(-0.5 * (np.log(_NOISE / 0.3) / 0.65) ** 2)
_SHARES = np.array([0.04, 0.08, 0.13, 0.2, 0.28, 0.37, 0.47, 0.58, 0.7, 0.82, 0.92])
_RUNAWAY_SHARES = np.array([0.04, 0.08, 0.15, 0.25, 0.4, 0.6, 0.85, 1.0])
_USUAL_SINK, _USUAL_BOX, _SLOWEST = 200.0, 400.0, 600.0  # time constants in min
_RUNAWAY_KELVIN = 1.0  # growth below this is no evidence
_MOST_POINTS = 120  # longer series are averaged in groups
_FEWEST_SHAPES, _SPLIT, _MOST_ROUNDS = (5, 40, 20), 150, 3  # when and how a grid is made finer


@dataclass(frozen=True)
class Shapes:
    """The shapes of a grid: class, time constants in min, share of the slow part, weight before."""

    kind: NDArray[np.int64]
    fast: Numbers
    slow: Numbers
    share: Numbers
    prior: Numbers
    tau_step: Numbers  # of the grid: ratio of neighbours as a logarithm, and distance of shares
    share_step: Numbers

    def at(self, minutes: Numbers, span: float) -> Numbers:
        """Return g at these minutes, a row for each shape."""
        fast = -np.expm1(-minutes / self.fast[:, None])
        slow = -np.expm1(-minutes / self.slow[:, None])
        grows = self.kind == RUNAWAY
        with np.errstate(over="ignore"):
            whole = np.expm1(span / self.slow[grows, None])
            slow[grows] = np.expm1(minutes / self.slow[grows, None]) / whole
        share = self.share[:, None]
        mixed: Numbers = (1 - share) * fast + share * slow
        return mixed

    def of(self, places: NDArray[Any]) -> Shapes:
        """Return some of them."""
        return Shapes(*(getattr(self, field.name)[places] for field in fields(self)))

    def joined(self, others: Shapes) -> Shapes:
        """Return these and the others."""
        pairs = ((getattr(self, f.name), getattr(others, f.name)) for f in fields(self))
        return Shapes(*(np.concatenate(pair) for pair in pairs))

    def split(self) -> Shapes:
        """Return 27 for each, a third of a step apart, with its weight shared out."""
        third = np.array([-1.0, 0.0, 1.0]) / 3
        fast, slow, share = (part.ravel() for part in np.meshgrid(third, third, third))
        step, many = self.tau_step[:, None], np.ones(27)
        return Shapes(
            np.repeat(self.kind, 27),
            (self.fast[:, None] * np.exp(step * fast)).ravel(),
            (self.slow[:, None] * np.exp(step * slow)).ravel(),
            np.clip(self.share[:, None] + self.share_step[:, None] * share, 0.005, 1).ravel(),
            (self.prior[:, None] / 27 * many).ravel(),
            (step / 3 * many).ravel(),
            (self.share_step[:, None] / 3 * many).ravel(),
        )


def _falling_off(tau: Numbers, usual: float, by: float) -> Numbers:
    """Weights of time constants: even on a log scale, and falling off above the usual."""
    off: Numbers = np.exp(-0.5 * (np.maximum(np.log(tau / usual), 0) / by) ** 2)
    return off


@lru_cache(maxsize=32)
def shapes_for(span: float) -> Shapes:
    """Return the grid for readings that span so many minutes."""
    lowest, highest = min(2.0, span / 20), max(_SLOWEST, 2 * span)
    parts = [_one(lowest, highest), _two(lowest, highest), _runaways(lowest, span)]
    kind = np.concatenate([np.full(len(part[0]), n) for n, part in enumerate(parts)])
    fast, slow, share = (np.concatenate([part[n] for part in parts]) for n in range(3))
    weights = [p * part[3] / part[3].sum() for p, part in zip(_PRIOR, parts, strict=True)]
    steps = np.log(highest / lowest) / 27 * np.array([27 / 299, 1.0, 2.0])
    return Shapes(
        kind, fast, slow, share, np.concatenate(weights),
        steps[kind], np.array([0.0, 0.1, 0.12])[kind],
    )  # fmt: skip


def _one(lowest: float, highest: float) -> tuple[Numbers, ...]:
    tau = np.geomspace(lowest, highest, 300)
    return tau, tau, np.zeros_like(tau), _falling_off(tau, _USUAL_SINK, 0.5)


def _two(lowest: float, highest: float) -> tuple[Numbers, ...]:
    tau = np.geomspace(lowest, highest, 28)
    fast, slow, share = (part.ravel() for part in np.meshgrid(tau, tau, _SHARES, indexing="ij"))
    apart = (slow >= 2 * fast) & (fast <= max(_USUAL_SINK, tau[8]))
    fast, slow, share = fast[apart], slow[apart], share[apart]
    weight = _falling_off(fast, _USUAL_SINK, 0.5) * _falling_off(slow, _USUAL_BOX, 0.4)
    return fast, slow, share, weight


def _runaways(lowest: float, span: float) -> tuple[Numbers, ...]:
    sink = np.geomspace(lowest, max(300.0, span), 13)
    growth = span * np.geomspace(0.06, 3, 8)
    parts = np.meshgrid(sink, growth, _RUNAWAY_SHARES, indexing="ij")
    fast, slow, share = (part.ravel() for part in parts)
    return fast, slow, share, np.ones_like(fast)


@dataclass(frozen=True)
class Weighed:
    """The shapes with their weights after the readings: what may be, and how likely.

    A row is one shape at one noise: start and rise of it in C and K, and how sure they are.
    """

    shapes: Shapes
    begin: float
    span: float
    count: int
    mean_celsius: float
    weight: Numbers
    noise: Numbers
    middle: Numbers
    rise: Numbers
    rise_deviation: Numbers

    def share_of(self, kind: int) -> float:
        """Return how likely one lump, two, or a runaway is."""
        return float(self.weight[self.shapes.kind == kind].sum())

    def accelerates(self) -> float:
        """Return how likely it is a runaway whose rise at least doubles over the readings."""
        grows = (self.shapes.kind == RUNAWAY) & (self.shapes.slow <= 1.5 * self.span)
        return float(self.weight[grows].sum())

    def residual(self, minutes: Numbers, celsius: Numbers) -> Numbers:
        """Return what the likeliest shape leaves of the readings, in K."""
        best = np.array([np.argmax(self.weight)])
        g = self.shapes.of(best).at(minutes - self.begin, self.span)[0]
        left: Numbers = celsius - self.mean_celsius - self.rise[best] * (g - self.middle[best])
        return left

    def time_constants(self, kind: int) -> tuple[float, float]:
        """Return the fast and the slow time constant of a kind, by their weights, in min."""
        of = self.shapes.kind == kind
        weight = self.weight[of] / self.weight[of].sum()
        fast, slow = (np.log(part[of]) @ weight for part in (self.shapes.fast, self.shapes.slow))
        return float(np.exp(fast)), float(np.exp(slow))

    def start(self) -> float:
        """Return the temperature at the first reading, by the weights, in C."""
        return float(self.weight @ (self.mean_celsius - self.rise * self.middle))

    @cached_property
    def final(self) -> Mixture:
        """The final temperature of the shapes that settle."""
        kept = self._settling
        return self._mixture(1 - self.middle[kept], kept)

    def still_to_come(self, minutes: float = np.inf) -> Mixture:
        """Return how much it rises in the minutes after the last reading, in K."""
        kept = self._settling
        ends = np.array([self.span, self.span + minutes])
        g = self.shapes.of(np.flatnonzero(kept)).at(ends, self.span)
        left = g[:, 1] - g[:, 0]
        spread = np.maximum(left * self.rise_deviation[kept], 1e-9)
        return Mixture.of(self.weight[kept], left * self.rise[kept], spread)

    def band(self, minutes: Numbers) -> tuple[Numbers, Numbers]:
        """Return the curve at these minutes, and the half width of its 95 % band, in C and K."""
        kept = self._settling if self.share_of(RUNAWAY) < 0.5 else self.weight > 0
        weight = self.weight[kept] / self.weight[kept].sum()
        g = self.shapes.of(np.flatnonzero(kept)).at(np.maximum(minutes - self.begin, 0), self.span)
        lever = np.minimum(g, 20) - self.middle[kept, None]
        mean = self.mean_celsius + lever * self.rise[kept, None]
        spread = (self.noise[kept, None] ** 2 / self.count) + (
            lever * self.rise_deviation[kept, None]
        ) ** 2
        curve: Numbers = weight @ mean
        return curve, 1.96 * np.sqrt(weight @ (spread + (mean - curve) ** 2))

    @property
    def _settling(self) -> NDArray[np.bool_]:
        settles: NDArray[np.bool_] = self.shapes.kind != RUNAWAY
        return settles

    def _mixture(self, lever: Numbers, kept: NDArray[np.bool_]) -> Mixture:
        spread = np.hypot(self.noise[kept] / self.count**0.5, lever * self.rise_deviation[kept])
        mean = self.mean_celsius + lever * self.rise[kept]
        return Mixture.of(self.weight[kept], mean, spread)


def weigh(minutes: Numbers, celsius: Numbers) -> Weighed:
    """Return the shapes weighed by the readings; times rise, and there are three or more.

    Formula: w ~ prior x integral of the likelihood over T0 (flat) and R (normal, 60 K).
    Source: Bayes' rule with a normal prior; tests/benchmarks/heating.py for what its bands hold.
    """
    begin, span = float(minutes[0]), float(minutes[-1] - minutes[0])
    times, heats = _grouped(minutes - begin, celsius)
    found = _scored(shapes_for(span), times, heats, span)
    for _ in range(_MOST_ROUNDS):
        if not found.coarse:
            break
        found = _scored(found.finer(), times, heats, span)
    return found.kept(begin, span, len(times), float(heats.mean()))


def _grouped(minutes: Numbers, celsius: Numbers) -> tuple[Numbers, Numbers]:
    """Return the readings, averaged in groups where there are very many."""
    edges = np.arange(0, len(minutes), -(-len(minutes) // _MOST_POINTS))
    sizes = np.diff(np.append(edges, len(minutes)))
    return np.add.reduceat(minutes, edges) / sizes, np.add.reduceat(celsius, edges) / sizes


@dataclass(frozen=True)
class _Scored:
    """Shapes in rows by noise in columns: the logarithm of the weight, the rise and its deviation."""

    shapes: Shapes
    middle: Numbers
    score: Numbers
    rise: Numbers
    deviation: Numbers

    @property
    def by_shape(self) -> Numbers:
        """The weight of each shape at its best noise, as a logarithm."""
        best: Numbers = self.score.max(axis=1)
        return best

    @property
    def coarse(self) -> bool:
        """Whether so few shapes carry the weight that the grid and not the readings set the margin."""
        weight = np.exp(self.by_shape - self.score.max())
        of_kind = [weight[self.shapes.kind == kind] for kind in (ONE, TWO, RUNAWAY)]
        return any(
            part.sum() > 0.01 * weight.sum() and part.sum() ** 2 < fewest * (part**2).sum()
            for part, fewest in zip(of_kind, _FEWEST_SHAPES, strict=True)
        )

    def finer(self) -> Shapes:
        """Return the shapes with the best ones split into 27 each."""
        split = np.argsort(self.by_shape)[-_SPLIT:]
        rest = np.setdiff1d(np.flatnonzero(self.by_shape > self.score.max() - 15), split)
        return self.shapes.of(split).split().joined(self.shapes.of(rest))

    def kept(self, begin: float, span: float, count: int, mean: float) -> Weighed:
        """Return the rows that weigh anything, their weights summing to one."""
        weight = np.exp(self.score - self.score.max())
        rows, noises = np.nonzero(weight > 1e-5)
        weights = weight[rows, noises]
        return Weighed(
            shapes=self.shapes.of(rows), begin=begin, span=span, count=count, mean_celsius=mean,
            weight=weights / weights.sum(), noise=_NOISE[noises], middle=self.middle[rows],
            rise=self.rise[rows, noises], rise_deviation=self.deviation[rows, noises],
        )  # fmt: skip


def _scored(shapes: Shapes, minutes: Numbers, celsius: Numbers, span: float) -> _Scored:
    """Return what the readings say of each shape at each noise: a straight line in g."""
    g = shapes.at(minutes, span)
    middle, heats = g.mean(axis=1), celsius - celsius.mean()
    centred = g - middle[:, None]
    own, shared = (centred**2).sum(axis=1)[:, None], (centred @ heats)[:, None]
    precision = own / _NOISE**2 + _RISE_KELVIN**-2
    rise, deviation = shared / _NOISE**2 / precision, precision**-0.5
    score = 0.5 * (rise**2 * precision - heats @ heats / _NOISE**2) - 0.5 * np.log(precision)
    score += np.log(_NOISE_PRIOR) - (len(minutes) - 1) * np.log(_NOISE)
    score += np.log(shapes.prior)[:, None] + _evidence_of_growth(shapes, rise, deviation)
    return _Scored(shapes, middle, score, rise, deviation)


def _evidence_of_growth(shapes: Shapes, rise: Numbers, deviation: Numbers) -> Numbers:
    """Count a runaway only as far as its growth is seen, and upward."""
    seen = np.zeros_like(rise)
    grows = shapes.kind == RUNAWAY
    share = shapes.share[grows, None]
    z = (rise[grows] * share - _RUNAWAY_KELVIN) / (deviation[grows] * share)
    seen[grows] = np.log(scipy.special.ndtr(z) + 1e-30)
    return seen
