"""The one module that talks to the CEL library.

A condition answers HIT or MISS only when the engine returned a genuine boolean.
Everything else is UNDETERMINED (a fact is not recorded) or BROKEN (anything else),
and both keep the step: the caller must never ask for truthiness.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from enum import StrEnum
from functools import lru_cache
from typing import Any

from cel_expr_python import cel

from checklists.engine import syntax
from checklists.engine.vocabulary import VOCABULARY, Fact, Value

LONGEST_SOURCE = 2_000  # characters; nested list building grows memory with length


class Outcome(StrEnum):
    """What a condition came to on one set of facts."""

    HIT = "hit"
    MISS = "miss"
    UNDETERMINED = "undetermined"
    BROKEN = "broken"


class ConditionError(ValueError):
    """A condition that does not compile, or compiles to something that is no condition."""


def _cel_type(fact: Fact) -> Any:
    if fact.kind == "list":
        return cel.Type.List(cel.Type.STRING)
    return getattr(cel.Type, fact.kind.upper())


_ENVIRONMENT = cel.NewEnv(variables={name: _cel_type(fact) for name, fact in VOCABULARY.items()})


class Expression:
    """A compiled expression over the vocabulary; `names` are the facts it reads."""

    __slots__ = ("_compiled", "names", "source", "tree")

    def __init__(self, source: str, wanted: Any) -> None:
        self.source = source
        self._compiled = _compile(source, wanted)
        try:
            self.tree = syntax.read(self._compiled.serialize())
        except syntax.Unreadable as error:
            raise ConditionError(f"{source!r}: {error}") from None
        self.names = self.tree.names()


class Condition(Expression):
    """A boolean expression over the facts."""

    __slots__ = ()

    def __init__(self, source: str) -> None:
        super().__init__(source, cel.Type.BOOL)

    def outcome(self, bound: Bound) -> Outcome:
        """Evaluate on bound facts; never raises."""
        value = bound.value_of(self._compiled)
        if value is True:
            return Outcome.HIT
        if value is False:
            return Outcome.MISS
        return Outcome.UNDETERMINED if self.names - bound.known else Outcome.BROKEN


class Quantity(Expression):
    """An expression for a number in the unit its user names."""

    __slots__ = ()

    def __init__(self, source: str) -> None:
        super().__init__(source, cel.Type.DOUBLE)

    def amount(self, bound: Bound) -> float | None:
        """Return the number, or None when it cannot be had (missing fact, error, not finite)."""
        value = bound.value_of(self._compiled)
        return value if isinstance(value, float) and math.isfinite(value) else None


def first_known(sums: Iterable[Quantity], bound: Bound) -> float | None:
    """Return the first of several sums that can be had for these facts, None when none can."""
    return next((amount for one in sums if (amount := one.amount(bound)) is not None), None)


class Bound:
    """One set of facts made ready for evaluation; make one per set and drop it after use.

    The library's activation grows with every evaluation, so it must not be kept.
    """

    __slots__ = ("_activation", "facts", "known")

    def __init__(self, facts: Mapping[str, Value]) -> None:
        self.facts = facts
        self.known = frozenset(facts)
        self._activation = _ENVIRONMENT.Activation(dict(facts))

    def value_of(self, compiled: Any) -> object:
        """Return the value, or None for any error."""
        try:
            result = compiled.eval(self._activation)
        except RuntimeError:  # an exceeded budget is raised, other errors are returned
            return None
        # An error's value() is a non-empty string: the type must be asked first.
        return None if result.type() == cel.Type.ERROR else result.value()


def _compile(source: str, wanted: Any) -> Any:
    if len(source) > LONGEST_SOURCE:
        raise ConditionError(f"a condition may have {LONGEST_SOURCE} characters, not {len(source)}")
    try:
        compiled = _ENVIRONMENT.compile(source)
    except Exception as error:
        first_line = str(error).splitlines()[0]
        raise ConditionError(f"{source!r}: {first_line}") from None
    if compiled.return_type() != wanted:
        raise ConditionError(f"{source!r} gives {compiled.return_type()}, not {wanted}")
    return compiled


@lru_cache(maxsize=4096)
def condition(source: str) -> Condition:
    """Compile a condition, or return the one compiled before; ConditionError when it is wrong."""
    return Condition(source)


@lru_cache(maxsize=1024)
def quantity(source: str) -> Quantity:
    """Compile a number; ConditionError when it is wrong."""
    return Quantity(source)
