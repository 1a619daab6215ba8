"""Random fact sets, unknown facts included."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from functools import cache

from hypothesis import strategies as st

from checklists.engine.cel import Condition
from checklists.engine.vocabulary import VOCABULARY, Fact, Facts, Value


def values(fact: Fact) -> st.SearchStrategy:
    if fact.kind == "string":
        return st.sampled_from(fact.words)
    if fact.kind == "bool":
        return st.booleans()
    if fact.kind == "int":
        return st.integers(int(fact.low), int(fact.high))
    if fact.kind == "double":
        # Round numbers near the limits of rules are more telling than noise.
        round_numbers = (0.0, 10.0, 60.0, 60.5, 120.0, 230.0)
        telling = [v for v in round_numbers if fact.low <= v <= fact.high]
        return st.sampled_from(telling) | st.floats(fact.low, fact.high)
    return st.lists(st.sampled_from(fact.words), unique=True, max_size=4)


@st.composite
def fact_sets(draw, of: Iterable[str] = VOCABULARY) -> dict:
    names = draw(st.lists(st.sampled_from(sorted(of)), unique=True))
    return {name: draw(values(VOCABULARY[name])) for name in names}


def random_facts(draw: random.Random, conditions: Sequence[Condition]) -> Facts:
    """Draw a unit fast: now little, now nearly all is known, numbers near what conditions ask."""
    known = draw.choice((0.2, 0.6, 0.9, 1.0))
    limits = _limits(tuple(conditions))
    return {n: _one(draw, f, limits) for n, f in VOCABULARY.items() if draw.random() < known}


def _one(draw: random.Random, fact: Fact, limits: tuple[float, ...]) -> Value:
    if fact.kind == "string":
        return draw.choice(fact.words)
    if fact.kind == "bool":
        return draw.random() < 0.5
    if fact.kind == "list":
        return draw.sample(fact.words, draw.choice((0, 0, 1, 1, 2, 4)))
    near = draw.choice(limits) + draw.choice((-1, -0.5, 0, 0.5, 1))
    bounded = min(max(near, fact.low), fact.high)
    return int(bounded) if fact.kind == "int" else float(bounded)


@cache
def _limits(conditions: tuple[Condition, ...]) -> tuple[float, ...]:
    constants = (node.value for one in conditions for node in one.tree.walk())
    return tuple({v for v in constants if isinstance(v, int | float) and not isinstance(v, bool)})
