"""Intermittent faults: how often, when, and how many clean trials show that one is gone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from shop.bench.inputs import whole, within

UNSEEN = 29  # clean trials that show it at 95 % confidence
UNSEEN_RELIABILITY = 0.9  # what clean trials show when the fault was never counted (W11.5)
PLAIN_EVIDENCE = 0.05
# On, sound, off: no try is shorter. Common practice.
SHORTEST_TRY_SECONDS = 10.0


@dataclass(frozen=True, slots=True)
class CleanTrials:
    """Clean trials needed, and the failure rate they were worked out from."""

    needed: int
    rate: float
    rate_low: float


def trials_needed(rate: float, confidence: float = 0.95) -> int:
    """Return n = ceil(ln(1-C) / ln(1-p)): trials without failure that show p or less.

    rate 1e-6..1 (failures per trial if not cured), confidence 0.5..0.9999.
    Source: zero-failure sample size, a reliability library's documentation (W11.4 to W11.7).
    """
    within("rate", rate, 1e-6, 1, "failures per trial")
    within("confidence", confidence, 0.5, 0.9999, "")
    return _needed(rate, confidence)


def _needed(rate: float, confidence: float) -> int:
    if rate >= confidence:
        return 1
    # Rounding must not turn an exact 5.0000000001 into 6.
    return max(1, math.ceil(math.log(1 - confidence) / math.log1p(-rate) - 1e-9))


@lru_cache(maxsize=1024)
def clean_trials(faults: float, trials: float, confidence: float = 0.95) -> CleanTrials:
    """Return the clean trials to ask for after `faults` failures in `trials` tries before the work.

    It plans from the pessimistic bound: the one-sided lower limit (Clopper-Pearson) of the
    failure rate at the same confidence. Without a fault on record it asks for what shows nine clean tries in ten: 29 at 95 %.
    ValueError with a sentence when the numbers cannot be.
    Formula: p = Beta^-1(1-C; k, n-k+1); needed = ceil(ln(1-C) / ln(1-p)).
    Caution: NOTICE. Trials in one go at one temperature are not independent: vary heat, knocks, pauses.
    Source: NIST/SEMATECH handbook 7.2.4 for the interval; W11.3, W11.4.
    """
    seen, tries = _counted(faults, trials)
    within("confidence", confidence, 0.5, 0.9999, "")
    if seen == 0:
        return CleanTrials(trials_needed(1 - UNSEEN_RELIABILITY, confidence), 0.0, 0.0)
    low = _beta_quantile(seen, tries - seen + 1, 1 - confidence)
    return CleanTrials(_needed(low, confidence), seen / tries, low)


def tries_in(seconds: float) -> int:
    """Return how many tries can have been made in this time under mains; the first one is seen at once.

    seconds from 0. Formula: 1 + floor(seconds / 10).
    Caution: NOTICE. It bounds what can have been tried; it is no proof that anybody tried.
    Source: common practice.
    """
    return 1 + int(max(0.0, seconds) // SHORTEST_TRY_SECONDS)


def _counted(
    faults: float, trials: float, names: tuple[str, str] = ("faults", "trials")
) -> tuple[int, int]:
    tries = whole(names[1], trials, 0, 100_000)
    seen = whole(names[0], faults, 0, 100_000)
    if seen > tries:
        raise ValueError(f"{names[0]} is {seen}; it must be at most {names[1]}, which is {tries}.")
    return seen, tries


@dataclass(frozen=True, slots=True)
class FaultRate:
    """A failure rate with its exact interval, as shares from 0 to 1."""

    rate: float
    low: float
    high: float


def fault_rate(faults: float, trials: float, confidence: float = 0.95) -> FaultRate:
    """Return how often the fault showed, with the exact two-sided interval (Clopper-Pearson).

    faults 0..trials, trials 1..100,000, confidence 0.5..0.9999.
    Formula: Beta^-1(a/2; k, n-k+1) to Beta^-1(1-a/2; k+1, n-k), a = 1 - C.
    Caution: NOTICE. No fault in ten trials still allows a rate of 31 %.
    Source: NIST/SEMATECH handbook 7.2.4; SciPy binomtest (W11.1 to W11.3, W11.9).
    """
    seen, tries = _counted(faults, trials)
    if tries == 0:
        raise ValueError("trials is 0; it must be at least 1.")
    within("confidence", confidence, 0.5, 0.9999, "")
    return FaultRate(seen / tries, *_interval(seen, tries, (1 - confidence) / 2))


def _interval(seen: int, tries: int, tail: float) -> tuple[float, float]:
    low = _beta_quantile(seen, tries - seen + 1, tail) if seen else 0.0
    high = _beta_quantile(seen + 1, tries - seen, 1 - tail) if seen < tries else 1.0
    return low, high


def _beta_quantile(a: float, b: float, share: float) -> float:
    # Imported where it is asked for: each process of the shop would hold it in memory otherwise.
    from scipy.special import betaincinv  # noqa: PLC0415

    return float(betaincinv(a, b, share))


def upper_bound(faults: float, trials: float, confidence: float = 0.95) -> float:
    """Return the one-sided upper limit of the failure rate (W11.2, W11.9)."""
    seen, tries = _counted(faults, trials)
    return 1.0 if seen == tries else _beta_quantile(seen + 1, tries - seen, confidence)


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """Failures before and after the work, and how likely such a change is by luck alone."""

    p_value: float
    rate_before: float
    rate_after: float
    highest_after: float
    verdict: str
    says: str


def before_after(
    faults_before: float, trials_before: float, faults_after: float, trials_after: float
) -> BeforeAfter:
    """Return whether the trials after the work prove a change (Fisher's exact test, two-sided).

    Counts 0..100,000, faults at most trials. Verdict: below 0.05 proved with fewer faults
    after and worse with more, else not-proved. `highest_after` is the one-sided 95 % bound.
    Formula: hypergeometric probability of tables as unlikely as this one.
    Caution: NOTICE. It says that something changed, not that the cause was found.
    Source: SciPy fisher_exact; W11.10 to W11.15.
    """
    before = _counted(faults_before, trials_before, ("faults_before", "trials_before"))
    after = _counted(faults_after, trials_after, ("faults_after", "trials_after"))
    if not before[1] or not after[1]:
        raise ValueError("trials_before and trials_after must each be at least 1.")
    p_value = _fisher(before, after)
    old, new = before[0] / before[1], after[0] / after[1]
    plain = p_value < PLAIN_EVIDENCE
    verdict = "not-proved" if not plain else "proved" if new < old else "worse"
    highest = upper_bound(*after)
    says = (
        f"{before[0]} of {before[1]} before, {after[0]} of {after[1]} after:"
        f" {'such a change by luck' if plain else 'luck alone would do this'}"
        f" {'has a chance of' if plain else 'with a chance of'} {p_value:.2g}."
    )
    return BeforeAfter(
        p_value=p_value,
        rate_before=old,
        rate_after=new,
        highest_after=highest,
        verdict=verdict,
        says=says,
    )


def _fisher(first: tuple[int, int], second: tuple[int, int]) -> float:
    """Return the two-sided p value of two (faults, trials)."""
    from scipy.stats import fisher_exact  # noqa: PLC0415

    table = [[faults, trials - faults] for faults, trials in (first, second)]
    return float(fisher_exact(table).pvalue)


@dataclass(frozen=True, slots=True)
class Trial:
    """One try: the conditions it was made under, and whether the fault showed."""

    conditions: frozenset[str]
    fault: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """One condition: trials with and without it, rates, and what Fisher's test says.

    `adjusted` is the p value times the number of conditions compared (Bonferroni), at most 1.
    """

    condition: str
    faults_with: int
    trials_with: int
    faults_without: int
    trials_without: int
    with_it: FaultRate
    p_value: float
    adjusted: float

    @property
    def matters(self) -> bool:
        """Whether it still stands out after counting how many were compared."""
        return self.adjusted < PLAIN_EVIDENCE


@dataclass(frozen=True, slots=True)
class Influences:
    """All conditions, the most telling first, with the warning that belongs to them."""

    ranked: tuple[Influence, ...]
    says: str
    warning: str


def which_condition(trials: Sequence[Trial]) -> Influences:
    """Return which condition goes with the fault (Fisher's exact test for each).

    A condition is compared when it was there in some trials and not in others.
    Formula: Fisher two-sided per condition; times the number of conditions (Bonferroni).
    Caution: NOTICE. Compare many conditions and one will stand out by luck; confirm it by fresh trials.
    Source: SciPy fisher_exact; W11.10 to W11.14.
    """
    names = sorted({name for trial in trials for name in trial.conditions})
    split = {name: _split(trials, name) for name in names}
    compared = {name: both for name, both in split.items() if both[0][1] and both[1][1]}
    ranked = [_influence(name, *both, len(compared)) for name, both in compared.items()]
    ranked.sort(key=lambda influence: (influence.p_value, influence.condition))
    warning = (
        f"{len(ranked)} conditions were compared: one of them stands out by luck more often than"
        " one would think. Confirm it by fresh trials."
        if len(ranked) > 1
        else ""
    )
    return Influences(tuple(ranked), _conclusion(ranked), warning)


def _split(trials: Sequence[Trial], name: str) -> tuple[tuple[int, int], tuple[int, int]]:
    having = [trial.fault for trial in trials if name in trial.conditions]
    lacking = [trial.fault for trial in trials if name not in trial.conditions]
    return (sum(having), len(having)), (sum(lacking), len(lacking))


def _influence(
    name: str, having: tuple[int, int], lacking: tuple[int, int], compared: int
) -> Influence:
    p_value = _fisher(having, lacking)
    return Influence(
        condition=name,
        faults_with=having[0],
        trials_with=having[1],
        faults_without=lacking[0],
        trials_without=lacking[1],
        with_it=fault_rate(*having),
        p_value=p_value,
        adjusted=min(1.0, p_value * compared),
    )


def _conclusion(ranked: Sequence[Influence]) -> str:
    if not ranked:
        return "No condition was varied yet: try some trials with it and some without."
    first = ranked[0]
    if not first.matters:
        return "No condition stands out beyond luck yet."
    more = first.with_it.rate > (first.faults_without / first.trials_without)
    condition = first.condition.replace("-", " ").capitalize()
    return f"{condition}: the fault shows {'more' if more else 'less'} often."


@dataclass(frozen=True, slots=True)
class Proof:
    """What a run of clean trials shows."""

    reliability: float
    bayes_reliability: float
    missed: float


def clean_run(clean: float, confidence: float = 0.95, rate: float = 0.2) -> Proof:
    """Return what so many trials without a fault show, and how likely a fault of `rate` hid.

    clean 1..1e6 trials, confidence 0.5..0.9999, rate 1e-6..1 per trial.
    Formula: R = (1-C)^(1/n); with a uniform prior R = (1-C)^(1/(n+1)); hidden with (1-p)^n.
    Caution: NOTICE. The two formulas differ by one trial: say which.
    Source: success-run theorem (W11.5, W11.8, W11.16).
    """
    count = whole("clean", clean, 1, 1_000_000)
    left = 1 - within("confidence", confidence, 0.5, 0.9999, "")
    odds = within("rate", rate, 1e-6, 1, "failures per trial")
    return Proof(left ** (1 / count), left ** (1 / (count + 1)), (1 - odds) ** count)
