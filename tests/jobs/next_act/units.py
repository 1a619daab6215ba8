"""Random units: facts that may be known or not, and what is true of them."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from checklists import published
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK, Fact
from tests.jobs.next_act.follower import Truth

_TYPED = [fact for fact in VOCABULARY.values() if not fact.computed]
_LARGE = {"unit.rail_volts": 600.0, "unit.rated_watts": 500.0, "unit.fuse_amps": 10.0}


def _value(fact: Fact) -> st.SearchStrategy[Any]:
    if fact.kind == "string":
        return st.sampled_from(fact.words)
    if fact.kind == "bool":
        return st.booleans()
    if fact.kind == "list":
        return st.lists(st.sampled_from(fact.words), max_size=3, unique=True)
    if fact.kind == "int":
        return st.integers(int(fact.low), int(fact.high))
    return st.floats(fact.low, min(fact.high, _LARGE.get(fact.name, fact.high)), width=32)


@st.composite
def facts(draw: st.DrawFn) -> dict[str, Any]:
    """Few or many facts known."""
    share = draw(st.sampled_from((0.05, 0.4, 0.9)))
    known = [fact for fact in _TYPED if draw(st.floats(0, 1)) < share]
    return {fact.name: draw(_value(fact)) for fact in known}


def _few(words: Any, most: int) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(list(words)), max_size=most, unique=True).map(tuple)


def holds() -> list[str]:
    """Return the keys of the hold steps of the shipped pack."""
    return [key for key, step in published.pack().steps.items() if step.hold]


def truths() -> st.SearchStrategy[Truth]:
    """Healthy and mendable units: what is found, done, needed, and what fails until it is mended."""
    return st.builds(
        Truth,
        fault=st.booleans(),
        findings=_few(FINDINGS, 3),
        work=_few(WORK, 3),
        fails=_few(holds(), 3).map(frozenset),
        parts=st.sampled_from([(), (), ("relay 24 V",)]),
    )
