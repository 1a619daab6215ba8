"""Random fact sets, unknown facts included."""

from __future__ import annotations

from hypothesis import strategies as st

from checklists.engine.vocabulary import VOCABULARY, Fact


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
def fact_sets(draw) -> dict:
    names = draw(st.lists(st.sampled_from(sorted(VOCABULARY)), unique=True))
    return {name: draw(values(VOCABULARY[name])) for name in names}
