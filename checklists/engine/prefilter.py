"""What a condition cannot do without, so that most rules are left out unevaluated.

From each condition come the words of closed facts that it needs ("unit.kind must be mixer", "findings
must hold joint-cracked"). A rule is left out only when such a fact is *known* and rules it
out; an unknown fact keeps it.
"""

from __future__ import annotations

from collections.abc import Mapping

from checklists.engine.syntax import Node
from checklists.engine.vocabulary import VOCABULARY, Value


def may_match(needs: Mapping[str, frozenset[str]], facts: Mapping[str, Value]) -> bool:
    """Tell whether no known fact rules out a condition that needs these words."""
    for name, words in needs.items():
        value = facts.get(name)
        if value is None:
            continue
        if words.isdisjoint(value) if isinstance(value, list) else value not in words:
            return False
    return True


def required_words(tree: Node) -> dict[str, frozenset[str]]:
    """Return, for each closed fact, the words without which the condition is surely false.

    A list fact maps to words of which at least one must be in it.
    """
    if tree.op == "_||_":
        return _common([required_words(part) for part in tree.any_of()])
    needs: dict[str, frozenset[str]] = {}
    for part in tree.all_of():
        of_part = _required_by_leaf(part) if part.op != "_||_" else required_words(part)
        for name, words in of_part.items():
            is_list = VOCABULARY[name].kind == "list"
            needs[name] = words if is_list or name not in needs else needs[name] & words
    return needs


def _common(branches: list[dict[str, frozenset[str]]]) -> dict[str, frozenset[str]]:
    shared = set(branches[0]).intersection(*branches[1:])
    return {name: frozenset().union(*(b[name] for b in branches)) for name in shared}


def _required_by_leaf(leaf: Node) -> dict[str, frozenset[str]]:
    if leaf.op == "_==_" and [part.op for part in leaf.parts] == ["name", "value"]:
        name, word = leaf.parts[0].value, leaf.parts[1].value
        if isinstance(name, str) and isinstance(word, str):
            return {name: frozenset({word})}
    if leaf.op == "@in":
        return _required_by_membership(*leaf.parts)
    return {}


def _required_by_membership(left: Node, right: Node) -> dict[str, frozenset[str]]:
    if left.op == "name" and right.op == "list":
        words = [part.value for part in right.parts]
        if all(isinstance(word, str) for word in words):
            return {str(left.value): frozenset(str(word) for word in words)}
    if left.op == "value" and right.op == "name":
        return {str(right.value): frozenset({str(left.value)})}
    return {}
