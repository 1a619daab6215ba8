"""Intermittent faults and the order of tests."""

from __future__ import annotations

from scipy.stats import binomtest

from shop.bench.statistics import intermittent as faults
from shop.bench.statistics import suspects
from tests.published.checks import C, Check, M, P

NIST = "inputs of NIST/SEMATECH handbook 7.2.4.2"
SCIPY = "SciPy documentation of {}"
RELIABILITY = "a reliability library's documentation"
CODING = "published success-run examples"
FISHER = "hypergeometric sum"


def _fisher(*counts):
    return faults.before_after(*counts).p_value


CHECKS = [
    Check("W11.1", "4 in 20, 90 %: low", NIST, C, 0.071354, lambda: faults.fault_rate(4, 20, 0.90).low, 1e-5),
    Check("W11.1", "4 in 20, 90 %: high", NIST, C, 0.401028, lambda: faults.fault_rate(4, 20, 0.90).high, 1e-5),
    Check("W11.2", "5 in 100,000, one-sided 95 %", "binomial library's documentation", P, 0.0001051275, lambda: faults.upper_bound(5, 100_000), 1e-6),
    Check("W11.3", "3 in 15, one-sided lower 95 %", SCIPY.format("binomtest"), P, 0.05684686759, lambda: faults.clean_trials(3, 15).rate_low, 1e-9),
    Check("W11.4", "clean trials from that bound", "zero-failure sample size", C, 52, lambda: faults.clean_trials(3, 15).needed, 0),
    *(
        Check(number, f"trials for {r:.1%} at {c:.0%}", RELIABILITY if n == 2995 else "zero-failure sample size",
              P if n == 2995 else C, n, lambda r=r, c=c: faults.trials_needed(1 - r, c), 0)
        for number, c, pairs in (
            ("W11.5", 0.95, ((0.5, 5), (0.75, 11), (0.8, 14), (0.9, 29), (0.95, 59), (0.99, 299), (0.999, 2995))),
            ("W11.6", 0.90, ((0.9, 22), (0.95, 45), (0.99, 230))),
            ("W11.7", 0.99, ((0.9, 44), (0.95, 90), (0.99, 459))),
        )
        for r, n in pairs
    ),
    *(
        Check("W11.8", f"{n} clean at {c:.0%}, uniform prior, %", CODING, P, r, lambda n=n, c=c: faults.clean_run(n, c).bayes_reliability * 100, 1e-5)
        for n, c, r in ((29, 0.95, 90.4966), (59, 0.95, 95.1297), (10, 0.90, 81.1131), (99, 0.99, 95.4993))
    ),
    *(
        Check("W11.9", f"none in {n}: upper 95 % (rule of three)", "published notes on the rule of three", P, 3 / n,
              lambda n=n: faults.upper_bound(0, n), 0.08)
        for n in (1500, 300, 20)
    ),
    Check("W11.9", "none in 10: upper 95 %, exact", "1 - 0.05^(1/n)", C, 0.2588655, lambda: faults.upper_bound(0, 10), 1e-6),
    Check("W11.10", "tea tasting, 4 of 4, two-sided", "R. A. Fisher's example", P, 2 / 70, lambda: _fisher(4, 4, 0, 4), 1e-9),
    Check("W11.11", "3 of 4 right, two-sided", FISHER, C, 0.4857143, lambda: _fisher(3, 4, 1, 4), 1e-6),
    Check("W11.12", "[[8, 2], [1, 5]]", SCIPY.format("fisher_exact"), P, 0.034965034965034975, lambda: _fisher(8, 10, 1, 6), 1e-12),
    Check("W11.13", "5 of 5 before, 0 of 5 after", "2 / 252", C, 0.0079365, lambda: _fisher(5, 5, 0, 5), 1e-5),
    Check("W11.14", "3 of 15 before, 0 of 15 after", FISHER, C, 0.2241379, lambda: _fisher(3, 15, 0, 15), 1e-6),
    Check("W11.14", "its verdict", FISHER, C, "not-proved", lambda: faults.before_after(3, 15, 0, 15).verdict),
    Check("W11.15", "3 of 5 before, 0 of 10 after", FISHER, C, 0.0219780, lambda: _fisher(3, 5, 0, 10), 1e-5),
    Check("W11.16", "a 20 % fault hides in 10 trials", "(1-p)^n", C, 0.1073742, lambda: faults.clean_run(10, rate=0.2).missed, 1e-6),
    Check("W11.17", "3 of 15 against 0.1, greater", SCIPY.format("binomtest"), P, 0.18406106910639114,
          lambda: float(binomtest(3, 15, 0.1, alternative="greater").pvalue), 1e-12),
    # Three jobs of 3, 1 and 2 units with weights 6, 1 and 3, sorted by weight over time (Smith 1956).
    Check("ratio rule", "weights 6, 1, 3 and times 3, 1, 2: order", "W. E. Smith 1956, ratio rule, from memory", M, (1, 3, 2),
          lambda: suspects.test_order([0.6, 0.1, 0.3], [3, 1, 2]).order),
    Check("ratio rule", "its expected time", "sum of C (1 - p before)", C, 3 + 0.4 * 2 + 0.1 * 1,
          lambda: suspects.test_order([0.6, 0.1, 0.3], [3, 1, 2]).expected_minutes, 1e-12),
]  # fmt: skip
