"""Checklists a second beside three general rule engines, on the shipped rules and the same units.

Run by `make bench-peers`, which installs the engines, and by `make bench` where they can be had. Every condition is translated from its CEL
tree; all engines must list exactly the same steps for every unit, whose facts are all known: none of
the peers has a third truth value. The peers only find the steps, and so does `derive` until reasons, limits, plans
and content hashes are read; a line shows what a list costs that is read whole. zen-engine is shown both as it is usually called, an expression at a time,
and at its best, all conditions as one list.
"""

from __future__ import annotations

import gc
import os
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

os.environ.setdefault("BENCHTAG_DATA", tempfile.mkdtemp(prefix="benchtag-bench-"))

import clips
import rule_engine
import zen

from checklists.engine import cel, reading_packs
from checklists.engine.checklist import Checklist
from checklists.engine.derive import _CACHES, derive
from checklists.engine.pack import Pack
from checklists.engine.syntax import Node
from checklists.engine.vocabulary import VOCABULARY, Facts, accept
from tests.benchmarks.budgets import told

PACK = Path(__file__).resolve().parents[2] / "checklists" / "packs"
UNITS, ROUNDS, SEED = 400, 5, 20
ONE_LIST, NEW, WHOLE, SEEN = (
    "zen-engine, one list",
    "derive, units never seen",
    "derive, read whole",
    "derive, units seen before",
)
Lister = Callable[[Facts], set[str]]

_INFIX = {
    "_==_": "==",
    "_!=_": "!=",
    "_<_": "<",
    "_<=_": "<=",
    "_>_": ">",
    "_>=_": ">=",
    "_+_": "+",
    "_-_": "-",
    "_*_": "*",
    "_/_": "/",
    "_&&_": "and",
    "_||_": "or",
    "@in": "in",
}
_CLIPS = {
    "_<_": "<",
    "_<=_": "<=",
    "_>_": ">",
    "_>=_": ">=",
    "_+_": "+",
    "_-_": "-",
    "_*_": "*",
    "_/_": "/",
    "_&&_": "and",
    "_||_": "or",
    "!_": "not",
}


def units() -> list[Facts]:
    """Complete units, drawn like those of a shop: most flags off, few findings, little work."""
    draw = random.Random(SEED)
    return [accept({name: value(draw, name) for name in VOCABULARY}) for _ in range(UNITS)]


def value(draw: random.Random, name: str):
    fact = VOCABULARY[name]
    if fact.kind == "string":
        return draw.choice(fact.words)
    if fact.kind == "bool":
        return draw.random() < 0.2
    if fact.kind == "list":
        return draw.sample(fact.words, draw.choice((0, 0, 1, 1, 2, 3)))
    if name == "unit.year":
        return draw.randint(1955, 2024)
    if fact.kind == "int":
        return draw.randint(1, 60)
    return round(draw.uniform(fact.low, min(fact.high, 500)), 1)


def plain(node: Node, length: str, negation: str) -> str:
    """Write a condition for an engine with infix operators; names get underscores."""
    if node.op == "name":
        return str(node.value).replace(".", "_")
    if node.op == "value":
        return repr(node.value) if not isinstance(node.value, bool) else str(node.value).lower()
    if node.op == "list":
        return "[" + ", ".join(plain(p, length, negation) for p in node.parts) + "]"
    parts = [plain(part, length, negation) for part in node.parts]
    if node.op in _INFIX:
        return "(" + f" {_INFIX[node.op]} ".join(parts) + ")"
    if node.op == "!_":
        return f"({negation} {parts[0]})"
    if node.op == "_?_:_":
        return f"({parts[0]} ? {parts[1]} : {parts[2]})"
    if node.op == "size":
        return length.format(parts[0])
    raise ValueError(node.op)


def prefix(node: Node) -> str:
    """Write a condition as a CLIPS expression."""
    if node.op == "name":
        return "?" + str(node.value).replace(".", "_")
    if node.op == "value":
        if isinstance(node.value, bool):
            return "TRUE" if node.value else "FALSE"
        return f'"{node.value}"' if isinstance(node.value, str) else str(node.value)
    if node.op == "@in":
        left, right = node.parts
        if right.op == "list":
            return (
                "(or "
                + " ".join(f"(eq {prefix(left)} {prefix(p)})" for p in right.parts)
                + " FALSE)"
            )
        return f"(neq FALSE (member$ {prefix(left)} {prefix(right)}))"
    parts = " ".join(prefix(part) for part in node.parts)
    if node.op == "_==_":
        return f"(eq {parts})"
    if node.op == "_!=_":
        return f"(neq {parts})"
    if node.op == "size":
        return f"(length$ {parts})"
    return f"({_CLIPS[node.op]} {parts})"


def with_zen(pack: Pack) -> Lister:
    """One expression per rule."""
    ready = [
        (zen.compile_expression(plain(r.condition.tree, "len({})", "not")), r) for r in pack.rules
    ]

    def steps(facts: Facts) -> set[str]:
        given = {name.replace(".", "_"): v for name, v in facts.items()}
        return {key for e, r in ready if e.evaluate(given) is True for key in r.require}

    return steps


def with_zen_at_once(pack: Pack) -> Lister:
    """All conditions as one list expression: the facts cross into the engine once."""
    each = [plain(rule.condition.tree, "len({})", "not") for rule in pack.rules]
    whole = zen.compile_expression("[" + ", ".join(each) + "]")

    def steps(facts: Facts) -> set[str]:
        outcomes = whole.evaluate({name.replace(".", "_"): v for name, v in facts.items()})
        hits = (r for r, hit in zip(pack.rules, outcomes, strict=True) if hit is True)
        return {key for rule in hits for key in rule.require}

    return steps


def with_rule_engine(pack: Pack) -> Lister:
    context = rule_engine.Context(resolver=rule_engine.resolve_item)
    ready = [
        (rule_engine.Rule(plain(r.condition.tree, "{}.length", "not"), context=context), r)
        for r in pack.rules
    ]

    def steps(facts: Facts) -> set[str]:
        given = {name.replace(".", "_"): v for name, v in facts.items()}
        return {key for e, r in ready if e.matches(given) for key in r.require}

    return steps


def with_clips(pack: Pack) -> Lister:
    environment = clips.Environment()
    slots = " ".join(
        f"({'multislot' if fact.kind == 'list' else 'slot'} {name.replace('.', '_')})"
        for name, fact in VOCABULARY.items()
    )
    environment.build(f"(deftemplate unit {slots})")
    environment.build("(deftemplate hit (slot rule))")
    for place, rule in enumerate(pack.rules):
        environment.build(clips_rule(place, rule.condition.tree))
    template = environment.find_template("unit")

    def steps(facts: Facts) -> set[str]:
        environment.reset()
        template.assert_fact(
            **{name.replace(".", "_"): clips_value(v) for name, v in facts.items()}
        )
        environment.run()
        hits = [f["rule"] for f in environment.facts() if f.template.name == "hit"]
        return {key for place in hits for key in pack.rules[place].require}

    return steps


def clips_rule(place: int, tree: Node) -> str:
    names = sorted(tree.names())
    bound = " ".join(
        f"({n.replace('.', '_')} {'$' if VOCABULARY[n].kind == 'list' else ''}?{n.replace('.', '_')})"
        for n in names
    )
    return f"(defrule r{place} (unit {bound}) (test {prefix(flags(tree))}) => (assert (hit (rule {place}))))"


def flags(node: Node) -> Node:
    """Make every bare flag of a condition a comparison: symbols are compared, not trusted."""
    if node.op in ("_&&_", "_||_", "!_"):
        return Node(node.op, node.value, tuple(flags(part) for part in node.parts))
    if node.op == "name" or isinstance(node.value, bool):
        return Node("_==_", None, (node, Node("value", value=True)))
    return node


def clips_value(given):
    if isinstance(given, bool):
        return clips.Symbol("TRUE" if given else "FALSE")
    return given


def seconds(lister: Callable[[Facts], object], given: list[Facts]) -> float:
    """Return the CPU time of one list."""
    start = time.process_time()
    for facts in given:
        lister(facts)
    return (time.process_time() - start) / len(given)


def keys(checklist: Checklist) -> set[str]:
    return set(checklist.by_key)


def whole(checklist: Checklist) -> list[tuple[object, ...]]:
    steps = checklist.steps
    return [(s.gate, s.reasons, s.readings, s.plan, s.content_hash, s.answers) for s in steps]


def first_sight(
    pack: Pack, given: list[Facts], read: Callable[[Checklist], object] = keys
) -> float:
    """Time units never seen before, after a first half has been."""
    half = len(given) // 2
    _CACHES.clear()
    for facts in given[:half]:
        read(derive(pack, facts))
    gc.collect()  # what the rounds before left behind is not the cost of this one
    return seconds(lambda facts: read(derive(pack, facts)), given[half:])


def seen(pack: Pack, given: list[Facts]) -> float:
    for facts in given:
        derive(pack, facts)
    return seconds(lambda facts: derive(pack, facts), given)


def bare(pack: Pack) -> Lister:
    def steps(facts: Facts) -> set[str]:
        bound = cel.Bound(facts)
        return {
            key
            for rule in pack.rules
            if rule.condition.outcome(bound) is not cel.Outcome.MISS
            for key in rule.require
        }

    return steps


def main() -> None:
    pack, given = reading_packs.load(PACK), units()
    listers = {
        "bare CEL": bare(pack),
        "zen-engine, one by one": with_zen(pack),
        ONE_LIST: with_zen_at_once(pack),
        "clipspy": with_clips(pack),
        "rule-engine": with_rule_engine(pack),
    }
    for name, lister in listers.items():
        for facts in given:
            assert lister(facts) == set(derive(pack, facts).by_key), f"{name}: other steps, {facts}"
    print(f"{len(pack.rules)} rules, {UNITS} units, every engine lists the same steps")
    ways = {name: partial(seconds, lister, given) for name, lister in listers.items()}
    ways |= {NEW: partial(first_sight, pack, given), SEEN: partial(seen, pack, given)}
    ways |= {WHOLE: partial(first_sight, pack, given, whole)}
    rounds = [{name: way() for name, way in ways.items()} for _ in range(ROUNDS)]
    each = {name: statistics.median(one[name] for one in rounds) for name in ways}
    for name, taken in each.items():
        print(f"{name:26} {taken * 1e6:9.0f} us   {1 / taken:9,.0f} checklists a second of CPU")
    told("seen-checklist", each[SEEN] / each[ONE_LIST], 0.25)
    told("new-checklist", each[NEW] / each[ONE_LIST], 3.0)


if __name__ == "__main__":
    main()
