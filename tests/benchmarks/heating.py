"""What the forecasts of heating curves hold, on units whose truth is known.

`python -m tests.benchmarks.heating [RUNS]`. The truth does not come from the code under test: a
sink alone (closed form), a sink in a box (two thermal nodes, by the matrix exponential), a unit
that runs away (from the start, by its differential equation, or from some moment on). Readings
at the times of a plan, some left out, with the noise of a probe held by hand.
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from scipy.linalg import expm

from shop.bench.electrical.heating import heating_curve

GOOD = ("will-settle", "has-settled")
PLANS = {hours: [0, 10, 30, *(60 * n for n in range(1, hours + 1))] for hours in (2, 4, 6, 8)}


@dataclass
class Truth:
    kind: str
    minutes: list[float]
    celsius: list[float]
    final: float
    limit: float


def box(minutes, ambient, watts, sink_k_per_w, box_k_per_w, sink_minutes, box_minutes):
    """Temperatures of a sink in a box: C1 T1' = P - (T1-T2)/R1; C2 T2' = (T1-T2)/R1 - T2/R2."""
    c1, c2 = sink_minutes / sink_k_per_w, box_minutes / box_k_per_w
    a = np.array(
        [
            [-1 / (sink_k_per_w * c1), 1 / (sink_k_per_w * c1)],
            [1 / (sink_k_per_w * c2), -1 / (sink_k_per_w * c2) - 1 / (box_k_per_w * c2)],
        ]
    )
    rest = np.linalg.solve(-a, np.array([watts / c1, 0.0]))
    heats = [ambient + (rest - expm(a * minute) @ rest)[0] for minute in minutes]
    return np.array(heats), ambient + rest[0]


def drawn(draw: np.random.Generator) -> Truth:
    kind = str(draw.choice(["sink", "box", "runaway", "onset"], p=[0.4, 0.4, 0.05, 0.15]))
    plan = PLANS[int(draw.choice([2, 4, 4, 4, 6, 8]))]
    if draw.random() < 0.25:  # a sparse one
        kept = draw.choice(len(plan) - 1, size=max(3, len(plan) - 4), replace=False) + 1
        plan = [0, *(plan[place] for place in sorted(kept))]
    minutes = np.array(plan, dtype=float)
    heats, final = _of(kind, minutes, draw)
    noise = math.exp(draw.uniform(math.log(0.1), math.log(0.6)))
    read = heats + draw.normal(0, noise, len(minutes))
    return Truth(kind, list(minutes), list(read), final, float(draw.choice([55, 60, 65, 70, 75])))


def _of(kind: str, minutes, draw) -> tuple[np.ndarray, float]:
    ambient, rise = draw.uniform(18, 28), draw.uniform(15, 50)
    tau = math.exp(draw.uniform(math.log(6), math.log(90)))
    if kind == "box":
        share = draw.uniform(0.05, 0.6)
        slow = math.exp(draw.uniform(math.log(max(60, 2 * tau)), math.log(max(400, 3 * tau))))
        return box(minutes, ambient, rise, 1 - share, share, tau, slow)
    if kind == "runaway":  # T' = (P (1 + a T) - T / R) / C with a P R above one
        gain = draw.uniform(1.2, 2.5)
        growth = np.expm1(np.minimum(minutes * (gain - 1) / tau, 4)) / (gain - 1)
        return ambient + rise / 5 * np.minimum(growth, 25), math.inf
    sink = ambient + rise * -np.expm1(-minutes / tau)
    if kind == "sink":
        return sink, ambient + rise
    onset, pace = draw.uniform(0, 0.8) * minutes[-1], draw.uniform(0.1, 0.5) * minutes[-1]
    grown = np.where(minutes > onset, np.expm1((minutes - onset) / pace), 0)
    return sink + draw.uniform(2, 8) * grown / grown[-1], math.inf


@dataclass
class Tally:
    runs: int = 0
    held: int = 0
    verdicts: Counter = field(default_factory=Counter)
    good: Counter = field(default_factory=Counter)
    bad: Counter = field(default_factory=Counter)

    def add(self, truth: Truth) -> None:
        found = heating_curve(truth.minutes, truth.celsius, truth.limit)
        self.runs += 1
        self.held += abs(found.final_celsius - truth.final) <= found.half_width_kelvin
        side = self.bad if truth.final >= truth.limit else self.good
        side[found.verdict] += 1

    def line(self, kind: str) -> str:
        false = sum(self.bad[word] for word in GOOD)
        told = sum(self.good[word] for word in GOOD)
        held = f"{self.held / self.runs:6.1%}" if kind in ("sink", "box", "both") else "     -"
        return (
            f"{kind:8} {self.runs:6} {held}   of {self.good.total():5} below: {told:5} told,"
            f" {self.good['cannot-tell']:5} cannot tell, {self.good['will-not-settle']:4} wrong;"
            f"   of {self.bad.total():5} not below: {self.bad['will-not-settle']:5} told,"
            f" {self.bad['cannot-tell']:5} cannot tell, {false:4} called settled"
        )


def population(runs: int, seed: int = 1) -> dict[str, Tally]:
    draw = np.random.default_rng(seed)
    tallies: dict[str, Tally] = {}
    for _ in range(runs):
        truth = drawn(draw)
        tallies.setdefault(truth.kind, Tally()).add(truth)
        if truth.kind in ("sink", "box"):
            tallies.setdefault("both", Tally()).add(truth)
    return tallies


def three_time_constants(runs: int, seed: int = 2, final: float = 62.0, limit: float = 70.0):
    """Verdicts on a sink of 80 min over the plan of four hours, with 0.3 K of noise."""
    draw = np.random.default_rng(seed)
    minutes = PLANS[4]
    heats = 22 + (final - 22) * -np.expm1(-np.array(minutes) / 80)
    verdicts: Counter = Counter()
    for _ in range(runs):
        read = heats + draw.normal(0, 0.3, len(minutes))
        verdicts[heating_curve(minutes, list(read), limit).verdict] += 1
    return verdicts


def main(runs: int) -> None:
    began = time.process_time()
    tallies = population(runs)
    for kind in ("sink", "box", "both", "runaway", "onset"):
        print(tallies[kind].line(kind))
    print(f"{(time.process_time() - began) / runs * 600:.0f} ms each (sinks and boxes twice)")
    for final, limit in ((62, 70), (66, 70), (55, 70), (78, 70)):
        words = dict(three_time_constants(max(runs // 10, 20), final=final, limit=limit))
        print(f"three time constants to {final} C, limit {limit} C: {words}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
