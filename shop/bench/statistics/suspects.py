"""Which suspect to test next: the one with the most probability per minute.

Under one fault and tests that settle, testing by p / C in falling order has the least expected
time (Kadane and Simon 1977; decision-theoretic troubleshooting, Heckerman, Breese and
Rommelse 1995). It is the ratio rule of W. E. Smith (1956) for weighted completion times.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shop.bench.inputs import same_length, series, within

# What the pack's priors count for beside the shop's own closed jobs, in jobs.
PRIOR_STRENGTH = 10.0


@dataclass(frozen=True, slots=True)
class Suspect:
    """A possible cause: its probability now, and the minutes of the test that settles it."""

    key: str
    probability: float
    minutes: float

    @property
    def rate(self) -> float:
        """Probability per minute of test."""
        return self.probability / self.minutes


def in_order(suspects: Sequence[Suspect]) -> list[Suspect]:
    """Return the suspects by probability per minute, the most first; ties by key."""
    return sorted(suspects, key=lambda suspect: (-suspect.rate, suspect.key))


def expected_minutes(ordered: Sequence[Suspect]) -> float:
    """Return the expected minutes of testing in this order until the fault is found.

    Each test costs its minutes whenever it is reached; what lies outside the suspects is found
    by none of them and costs the whole list.
    """
    left = spent = 0.0
    remaining = 1.0
    for suspect in ordered:
        spent += remaining * suspect.minutes
        left += suspect.probability
        remaining = max(0.0, 1.0 - left)
    return spent


def posterior(priors: Mapping[str, float], ruled_out: Sequence[str] = ()) -> dict[str, float]:
    """Return probabilities that add up to 1 over what has not been ruled out.

    Weights must not be negative. Empty when nothing is left.
    """
    left = {key: weight for key, weight in priors.items() if key not in set(ruled_out)}
    total = sum(left.values())
    return {key: weight / total for key, weight in left.items()} if total > 0 else {}


@dataclass(frozen=True, slots=True)
class Learnt:
    """A prior as the pack has it, and as this shop's closed jobs have moved it."""

    key: str
    pack: float
    shop: float
    times: int


def learnt(
    priors: Mapping[str, float], times: Mapping[str, int], strength: float = PRIOR_STRENGTH
) -> dict[str, Learnt]:
    """Return the means of a Dirichlet distribution over causes, moved by confirmed ones.

    priors: weights of the pack (any scale); times: closed jobs here that confirmed each cause;
    strength: how many jobs the pack's opinion counts for, 0.1..1000.
    Source: Dirichlet-multinomial, mean (s p_i + n_i) / (s + N).
    """
    weight = within("strength", strength, 0.1, 1000, "jobs")
    base = posterior(priors)
    total = sum(times.get(key, 0) for key in base)
    return {
        key: Learnt(
            key, share, (weight * share + times.get(key, 0)) / (weight + total), times.get(key, 0)
        )
        for key, share in base.items()
    }


@dataclass(frozen=True, slots=True)
class TestOrder:
    """The order of tests with the least expected time; places count from 1."""

    order: tuple[int, ...]
    expected_minutes: float
    as_given_minutes: float
    says: str


def test_order(probabilities: Sequence[float], minutes: Sequence[float]) -> TestOrder:
    """Return the order of tests that finds a single fault soonest on average.

    probabilities 0..1 that add up to at most 1, minutes 0.1..10,000 min for each test.
    ValueError with a sentence.
    Formula: by p / C falling; expected time = sum of C_i (1 - p of those before).
    Caution: NOTICE. One fault at a time, and tests that settle: two faults at once need fresh eyes.
    Source: Kadane and Simon 1977; W. E. Smith 1956 (ratio rule); brute force in the tests.
    """
    chances = series("probabilities", probabilities, low=0, high=1, unit="")
    costs = series("minutes", minutes, low=0.1, high=10_000, unit="min")
    same_length("probabilities", chances, "minutes", costs)
    if sum(chances) > 1 + 1e-9:
        raise ValueError(f"probabilities add up to {sum(chances):g}; they must make at most 1.")
    given = [
        Suspect(f"{n + 1:05}", p, c) for n, (p, c) in enumerate(zip(chances, costs, strict=True))
    ]
    ordered = in_order(given)
    places = tuple(int(suspect.key) for suspect in ordered)
    best, plain = expected_minutes(ordered), expected_minutes(given)
    says = f"Test number {places[0]} first; {best:.0f} min on average, {plain:.0f} min as listed."
    return TestOrder(places, best, plain, says)
