"""Why a step is on a checklist, or why it is not: every rule, every part of its condition."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from checklists.engine import candidates, cel, syntax
from checklists.engine.pack import Pack, Rule
from checklists.engine.vocabulary import Value

_WORD_FOR = {
    cel.Outcome.HIT: "true",
    cel.Outcome.MISS: "false",
    cel.Outcome.UNDETERMINED: "unknown",
    cel.Outcome.BROKEN: "broken",
}
_JOINS = {"_&&_": "all of", "_||_": "any of", "!_": "not"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionPart:
    """A part of a condition with its truth; `parts` are below it, `facts` what it read."""

    text: str
    truth: str
    join: str
    facts: Mapping[str, Value]
    parts: tuple[ConditionPart, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "text": self.text,
            "truth": self.truth,
            "join": self.join,
            "facts": dict(self.facts),
            "parts": [part.as_dict() for part in self.parts],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleTrace:
    """One rule that can require the step, how it came out, and what would turn it."""

    rule: Rule
    outcome: cel.Outcome
    missing: tuple[str, ...]
    condition: ConditionPart
    would_bring: tuple[tuple[str, Value], ...]
    would_remove: tuple[tuple[str, Value], ...]


def why(pack: Pack, facts: Mapping[str, Value], step: str) -> list[RuleTrace]:
    """Return a trace of every rule that can require the step; KeyError for an unknown step."""
    _ = pack.steps[step]
    return [_trace(rule, facts) for rule in pack.rules if step in rule.require]


def _trace(rule: Rule, facts: Mapping[str, Value]) -> RuleTrace:
    outcome = rule.condition.outcome(cel.Bound(facts))
    missing = tuple(sorted(rule.condition.names - facts.keys()))
    turns = list(_single_changes(rule, facts))
    bring = tuple((name, value) for name, value, to in turns if to is cel.Outcome.HIT)
    remove = tuple((name, value) for name, value, to in turns if to is cel.Outcome.MISS)
    return RuleTrace(
        rule=rule,
        outcome=outcome,
        missing=missing,
        condition=_part(rule.condition.tree, facts),
        would_bring=() if outcome is cel.Outcome.HIT else bring,
        would_remove=() if outcome is cel.Outcome.MISS else remove,
    )


def _part(node: syntax.Node, facts: Mapping[str, Value]) -> ConditionPart:
    source = syntax.text(node)
    truth = _WORD_FOR[cel.condition(source).outcome(cel.Bound(facts))]
    read = {name: facts[name] for name in sorted(node.names()) if name in facts}
    below: list[syntax.Node] = []
    if node.op in _JOINS:
        chain = {"_&&_": node.all_of, "_||_": node.any_of}
        below = chain[node.op]() if node.op in chain else list(node.parts)
    parts = tuple(_part(part, facts) for part in below)
    return ConditionPart(
        text=source, truth=truth, join=_JOINS.get(node.op, ""), facts=read, parts=parts
    )


def _single_changes(
    rule: Rule, facts: Mapping[str, Value]
) -> Iterator[tuple[str, Value, cel.Outcome]]:
    """Yield each recording of one fact that decides the rule otherwise than now."""
    now = rule.condition.outcome(cel.Bound(facts))
    for name in sorted(rule.condition.names):
        for value in candidates.of(name, rule.condition.tree, facts):
            then = rule.condition.outcome(cel.Bound({**facts, name: value}))
            if then is not now and then in (cel.Outcome.HIT, cel.Outcome.MISS):
                yield name, value, then
