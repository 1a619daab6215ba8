"""Decides all conditions of a pack at once on one set of facts.

A condition is brought into clauses: it holds where every clause holds, and a clause where one of
its tests of a single fact does. A clause is a bit. A value of a fact stands for the bits of the clauses
that it makes true, and a fact that is not recorded leaves its clauses unknown. As in CEL, what is
unknown is absorbed by a side that decides; in this logic of three values (Kleene's) `and`, `or` and `not`
distribute as in that of two, so clauses have the outcome of the condition. What has
no clauses, such as a sum or a choice, is left to CEL.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from itertools import product
from typing import Any

from checklists.engine.cel import Bound, Condition, Outcome
from checklists.engine.syntax import Node
from checklists.engine.vocabulary import VOCABULARY, Facts

MOST_CLAUSES = 64  # of one condition; more is left to CEL
MOST_KEPT = 4096  # values of one fact, then they are tested anew

Test = tuple[str, str, Hashable, bool]  # fact, operation, constant, whether it is to be so
Clause = tuple[Test, ...]
Values = Mapping[str, Hashable]

_HAS = "has"
_TESTS: dict[str, Callable[[Any, Any], bool]] = {
    "_==_": operator.eq,
    "_!=_": operator.ne,
    "_<_": operator.lt,
    "_<=_": operator.le,
    "_>_": operator.gt,
    "_>=_": operator.ge,
    "@in": lambda value, words: value in words,
    _HAS: operator.contains,
}
_WHOLE = range(-(2**63), 2**63)
# CEL takes a whole number for a decimal.
_TYPES: dict[str, tuple[type, ...]] = {
    "string": (str,),
    "bool": (bool,),
    "int": (int,),
    "double": (float, int),
    "list": (tuple,),
}


class NoClausesError(ValueError):
    """The condition is more than tests of single facts."""


def hashable(facts: Mapping[str, Any]) -> dict[str, Hashable]:
    """Return the facts with each list as a tuple."""
    return {name: tuple(v) if isinstance(v, list) else v for name, v in facts.items()}


def unfrozen(values: Values) -> Facts:
    """Return the facts again, as CEL takes them."""
    return {n: list(v) if isinstance(v, tuple) else v for n, v in values.items()}  # type: ignore[misc]


def places(bits: int) -> Iterator[int]:
    """Yield the places of the bits that are set, lowest first."""
    digits = bin(bits)[:1:-1]
    at = digits.find("1")
    while at >= 0:
        yield at
        at = digits.find("1", at + 1)


def clauses(node: Node, *, wanted: bool = True) -> list[Clause]:
    """Return the clauses that hold together where the tree is as wanted; NoClausesError."""
    if node.op == "!_":
        return clauses(node.parts[0], wanted=not wanted)
    if node.op in ("_&&_", "_||_"):
        left, right = (clauses(part, wanted=wanted) for part in node.parts)
        if (node.op == "_&&_") is wanted:
            return left + right
        if len(left) * len(right) > MOST_CLAUSES:
            raise NoClausesError
        return [one + other for one, other in product(left, right)]
    if isinstance(node.value, bool):
        return [] if node.value is wanted else [()]
    return [((*_test(node), wanted),)]


def _test(leaf: Node) -> tuple[str, str, Hashable]:
    if leaf.op == "name" and _kind(leaf) == "bool":
        return str(leaf.value), "_==_", True
    if leaf.op in _TESTS and len(leaf.parts) == 2:
        left, right = leaf.parts
        if leaf.op == "@in":
            return _membership(left, right)
        if left.op == "name" and _is_of(_kind(left), right):
            return str(left.value), leaf.op, right.value
    raise NoClausesError


def _membership(left: Node, right: Node) -> tuple[str, str, Hashable]:
    words = right.parts if right.op == "list" else None
    if words is not None and left.op == "name" and all(_is_of(_kind(left), w) for w in words):
        return str(left.value), "@in", tuple(word.value for word in words)
    if right.op == "name" and _kind(right) == "list" and _is_of("string", left):
        return str(right.value), _HAS, left.value
    raise NoClausesError


def _kind(name: Node) -> str:
    return VOCABULARY[str(name.value)].kind


def _is_of(kind: str, constant: Node) -> bool:
    return constant.op == "value" and type(constant.value) is _TYPES[kind][0]


class _Fact:
    """The tests of one fact, and what a value makes of the clauses that read it."""

    def __init__(self, kind: str) -> None:
        self.types = _TYPES[kind]
        self.clauses = 0
        self.tests: dict[tuple[str, Hashable, bool], int] = {}
        self._known: dict[Hashable, tuple[int, int]] = {}

    def add(self, test: tuple[str, Hashable, bool], clause: int) -> None:
        self.clauses |= clause
        self.tests[test] = self.tests.get(test, 0) | clause

    def on(self, value: Hashable) -> tuple[int, int]:
        """Return the clauses that are true by this value, and those that may be.

        What is not recorded, not of the type of the fact or no number of CEL leaves all of them open.
        """
        if type(value) not in self.types or (type(value) is int and value not in _WHOLE):
            return 0, self.clauses
        found = self._known.get(value)
        if found is None:
            if len(self._known) >= MOST_KEPT:
                self._known.clear()
            found = self._known[value] = self._tested(value)
        return found

    def _tested(self, value: Hashable) -> tuple[int, int]:
        if isinstance(value, tuple) and not all(isinstance(word, str) for word in value):
            return 0, self.clauses
        true = 0
        for (op, constant, wanted), clause in self.tests.items():
            if _TESTS[op](value, constant) is wanted:
                true |= clause
        return true, true


class Conditions:
    """Conditions that are decided together; each is known by its place."""

    def __init__(self, conditions: Sequence[Condition]) -> None:
        self._conditions = conditions
        self.facts: dict[str, _Fact] = {}
        self._by_cel: dict[int, Condition] = {}
        in_clauses = [self._clauses_of(place) for place in range(len(conditions))]
        # The first clause of every condition, then the second of every one, and so on.
        self._rows = max([1, *map(len, in_clauses)])
        self._settled = 0  # a row in which a condition has no clause is true
        for place, found in enumerate(in_clauses):
            self._place(place, found)

    def _clauses_of(self, place: int) -> list[Clause]:
        try:
            found = clauses(self._conditions[place].tree)
            if len(found) <= MOST_CLAUSES:
                return found
        except NoClausesError:
            pass
        self._by_cel[place] = self._conditions[place]
        return [()]  # false, unless CEL says otherwise

    def _place(self, place: int, found: list[Clause]) -> None:
        for row in range(self._rows):
            bit = 1 << (row * len(self._conditions) + place)
            if row >= len(found):
                self._settled |= bit
            for name, op, constant, wanted in found[row] if row < len(found) else ():
                self._fact(name).add((op, constant, wanted), bit)

    def _fact(self, name: str) -> _Fact:
        return self.facts.setdefault(name, _Fact(VOCABULARY[name].kind))

    def decide(self, values: Values) -> tuple[int, int]:
        """Return the places, as bits, of what is not plainly false and of what is plainly true."""
        true = may = self._settled
        for name, fact in self.facts.items():
            of_true, of_may = fact.on(values.get(name))
            true |= of_true
            may |= of_may
        possible, hit = self._all_rows(may), self._all_rows(true)
        return self._decided_by_cel(values, possible, hit) if self._by_cel else (possible, hit)

    def _all_rows(self, bits: int) -> int:
        width = len(self._conditions)
        whole = bits
        for _ in range(1, self._rows):
            bits >>= width
            whole &= bits
        return whole & ((1 << width) - 1)

    def _decided_by_cel(self, values: Values, possible: int, hit: int) -> tuple[int, int]:
        bound = Bound(unfrozen(values))
        for place, condition in self._by_cel.items():
            outcome = condition.outcome(bound)
            possible |= (outcome is not Outcome.MISS) << place
            hit |= (outcome is Outcome.HIT) << place
        return possible, hit

    def is_possible(self, place: int, values: Values) -> bool:
        """Tell whether one condition is not plainly false; no more than its facts are read."""
        condition = self._conditions[place]
        if place in self._by_cel:
            return condition.outcome(Bound(unfrozen(values))) is not Outcome.MISS
        may = self._settled
        for name in condition.names & self.facts.keys():
            may |= self.facts[name].on(values.get(name))[1]
        return bool(self._all_rows(may) >> place & 1)

    def outcome(self, place: int, hit: int, values: Values) -> Outcome:
        """Return what a condition that is possible came to."""
        if hit >> place & 1:
            return Outcome.HIT
        unknown = self._conditions[place].names - values.keys()
        return Outcome.UNDETERMINED if unknown else Outcome.BROKEN
