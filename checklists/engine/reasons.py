"""Why a step is on a list: a rule, and the facts that its condition read, in a sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from checklists.engine.cel import Outcome
from checklists.engine.pack import Rule
from checklists.engine.vocabulary import QUOTED_FACT, VOCABULARY, Value


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that put a step on the list, with the facts that its condition read."""

    rule: Rule
    outcome: Outcome
    facts: Mapping[str, Value]
    missing: frozenset[str]

    @property
    def text(self) -> str:
        """The rule's sentence with its facts filled in."""
        sentence = filled_in(self.rule.because, self.facts)
        if self.outcome is Outcome.BROKEN:
            return f"{sentence} (The rule could not be decided, so the step stays.)"
        if self.missing:
            return f"{sentence} (Not recorded yet: {', '.join(sorted(self.missing))}.)"
        return sentence

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"rule": self.rule.id, "text": self.text, "facts": dict(self.facts)}


def filled_in(sentence: str, facts: Mapping[str, Value]) -> str:
    """Return a rule's sentence with its facts in the places for them; what is not known says so."""
    return QUOTED_FACT.sub(lambda m: _in_words(m[1], facts), sentence)


def _in_words(name: str, facts: Mapping[str, Value]) -> str:
    value = facts.get(name)
    if value is None:
        return "(not recorded)"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(value) or "none"
    unit = VOCABULARY[name].unit
    return f"{value:g} {unit}".strip() if isinstance(value, float) else str(value)
