"""Leaves out rules that plainly miss, so that a large pack costs what applies, not what it holds.

From each condition the index takes what it cannot do without: a word of a closed string
("unit.kind must be mixer") or a word in a list ("findings must hold joint-cracked").
A rule is left out only when the fact is *known* and rules it out; an unknown fact keeps it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from checklists.engine.pack import Rule
from checklists.engine.syntax import Node
from checklists.engine.vocabulary import VOCABULARY, Value

_SHARED_BY_MOST = ("unit.kind", "unit.supply", "unit.output_stage")


@dataclass
class Index:
    """Rules of one pack, filed by what they need."""

    rules: tuple[Rule, ...]
    by_word: dict[tuple[str, str], list[int]] = field(default_factory=lambda: defaultdict(list))
    listed: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    rest: list[int] = field(default_factory=list)
    needs: list[dict[str, frozenset[str]]] = field(default_factory=list)
    _by_shape: dict[tuple[object, ...], list[int]] = field(default_factory=dict)

    @classmethod
    def of(cls, rules: tuple[Rule, ...]) -> Index:
        """File the rules."""
        index = cls(rules)
        for place, rule in enumerate(rules):
            index._file(place, needs_of(rule.condition.tree))
        return index

    def _file(self, place: int, needs: dict[str, frozenset[str]]) -> None:
        self.needs.append(needs)
        for name, words in needs.items():
            if VOCABULARY[name].kind == "list":
                self.listed[name].append(place)
                for word in words:
                    self.by_word[(name, word)].append(place)
                return
        self.rest.append(place)

    def candidates(self, facts: Mapping[str, Value]) -> list[Rule]:
        """Return, in pack order, every rule that these facts do not plainly rule out."""
        places = list(self._of_this_shape(facts))
        for name, filed in self.listed.items():
            known = facts.get(name)
            if known is None:
                places += filed
            elif isinstance(known, list):
                places += [p for word in known for p in self.by_word.get((name, word), ())]
        return [self.rules[place] for place in sorted(set(places))]

    def _of_this_shape(self, facts: Mapping[str, Value]) -> list[int]:
        shape = tuple(facts.get(name) for name in _SHARED_BY_MOST)
        if shape not in self._by_shape:
            self._by_shape[shape] = [p for p in self.rest if self._fits(p, shape)]
        return self._by_shape[shape]

    def _fits(self, place: int, shape: tuple[object, ...]) -> bool:
        needs = self.needs[place]
        return all(
            value is None or name not in needs or value in needs[name]
            for name, value in zip(_SHARED_BY_MOST, shape, strict=True)
        )


def needs_of(tree: Node) -> dict[str, frozenset[str]]:
    """Return, for each closed fact, the words without which the condition is surely false.

    A list fact maps to words of which at least one must be in it.
    """
    if tree.op == "_||_":
        return _common([needs_of(part) for part in tree.any_of()])
    needs: dict[str, frozenset[str]] = {}
    for part in tree.all_of():
        found = _needs_of_leaf(part) if part.op != "_||_" else needs_of(part)
        for name, words in found.items():
            is_list = VOCABULARY[name].kind == "list"
            needs[name] = words if is_list or name not in needs else needs[name] & words
    return needs


def _common(branches: list[dict[str, frozenset[str]]]) -> dict[str, frozenset[str]]:
    shared = set(branches[0]).intersection(*branches[1:])
    return {name: frozenset().union(*(b[name] for b in branches)) for name in shared}


def _needs_of_leaf(leaf: Node) -> dict[str, frozenset[str]]:
    if leaf.op == "_==_" and [part.op for part in leaf.parts] == ["name", "value"]:
        name, word = leaf.parts[0].value, leaf.parts[1].value
        if isinstance(name, str) and isinstance(word, str):
            return {name: frozenset({word})}
    if leaf.op == "@in":
        return _needs_of_membership(*leaf.parts)
    return {}


def _needs_of_membership(left: Node, right: Node) -> dict[str, frozenset[str]]:
    if left.op == "name" and right.op == "list":
        words = [part.value for part in right.parts]
        if all(isinstance(word, str) for word in words):
            return {str(left.value): frozenset(str(word) for word in words)}
    if left.op == "value" and right.op == "name":
        return {str(right.value): frozenset({str(left.value)})}
    return {}
