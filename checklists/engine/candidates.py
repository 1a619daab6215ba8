"""Values of a fact that could decide a condition: its words, and what lies at each number in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from checklists.engine import syntax
from checklists.engine.vocabulary import VOCABULARY, Value


def of(name: str, tree: syntax.Node, facts: Mapping[str, Value]) -> Iterator[Value]:
    """Yield values of a fact that a condition may tell apart, beside what is known."""
    fact = VOCABULARY[name]
    if fact.kind == "string":
        yield from fact.words
    elif fact.kind == "bool":
        yield from (True, False)
    elif fact.kind == "list":
        yield from _of_list(name, tree, facts)
    else:
        yield from _of_number(fact.kind, tree, fact.low, fact.high)


def _of_list(name: str, tree: syntax.Node, facts: Mapping[str, Value]) -> Iterator[Value]:
    held = facts.get(name, [])
    now = list(held) if isinstance(held, list) else []
    named = {str(n.value) for n in tree.walk() if n.op == "value"} & set(VOCABULARY[name].words)
    yield [word for word in now if word not in named]
    for word in sorted(named - set(now)):
        yield [*now, word]


def _of_number(kind: str, tree: syntax.Node, low: float, high: float) -> Iterator[Value]:
    """Yield values at, just below and just above every number the condition compares with."""
    for node in tree.walk():
        number = node.value
        if node.op == "value" and isinstance(number, int | float) and not isinstance(number, bool):
            step = 1 if kind == "int" else max(abs(number) * 0.01, 0.1)
            for near in (number, number - step, number + step):
                if low <= near <= high:
                    yield int(near) if kind == "int" else float(near)
