"""Rules as the solver sees them: every fact either unknown or one of its values.

A condition becomes a pair of formulas, "plainly true" and "plainly false"; when neither
holds the engine calls it undetermined. The pair follows the engine's own tables: `false && unknown`
is false, `true || unknown` is true, everything else that reads an unknown fact is unknown.

Decimals become real numbers: exact for comparisons with what a pack writes down, while the
rounding of sums over two facts is not modelled.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from checklists.engine.hazards import Hazard
from checklists.engine.pack import Limit, Pack, Reading, Rule, Step
from checklists.engine.smt import z3
from checklists.engine.syntax import Node, text
from checklists.engine.vocabulary import VOCABULARY, Fact, Facts, Value

_COMPARISONS = {
    "_<_": lambda a, b: a < b,
    "_<=_": lambda a, b: a <= b,
    "_>_": lambda a, b: a > b,
    "_>=_": lambda a, b: a >= b,
    "_==_": lambda a, b: a == b,
    "_!=_": lambda a, b: a != b,
}
_SUMS = {
    "_+_": lambda a, b: a + b,
    "_-_": lambda a, b: a - b,
    "_*_": lambda a, b: a * b,
}


class NotTranslated(ValueError):
    """A construction the solver model does not know; what depends on it is not proved."""


@dataclass(frozen=True, slots=True)
class Truth:
    """When an expression is plainly true and when plainly false; never both."""

    true: Any
    false: Any

    @property
    def possible(self) -> Any:
        """Not plainly false: true or undetermined."""
        return z3.Not(self.false)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number, and when it is defined at all."""

    defined: Any
    value: Any


class Unit:
    """One unit with all its facts open: the variables that every formula is about."""

    def __init__(self) -> None:
        self.known = {name: z3.Bool(f"known {name}") for name in VOCABULARY}
        self.value: dict[str, Any] = {}
        self.words: dict[str, dict[str, Any]] = {}
        for name, fact in VOCABULARY.items():
            if fact.kind == "list":
                self.words[name] = {word: z3.Bool(f"{name} has {word}") for word in fact.words}
            else:
                self.value[name] = _variable(fact)
        # Whether the unit was opened or worked on earlier in the job, beyond what facts say.
        self.touched = z3.Bool("touched")

    def bounds(self) -> list[Any]:
        """Return what is true of every unit: values stay within the vocabulary."""
        within = []
        for name, variable in self.value.items():
            fact = VOCABULARY[name]
            if fact.kind == "string":
                within.append(z3.And(variable >= 0, variable < len(fact.words)))
            elif fact.kind in ("int", "double"):
                within.append(z3.And(variable >= fact.low, variable <= fact.high))
        return within

    @property
    def opened(self) -> Any:
        """The unit was opened or worked on, as `derive` judges it."""
        off = z3.And(self.known["job.cover"], self.is_word("job.cover", "off"))
        worked = z3.And(self.known["work"], z3.Or(*self.words["work"].values()))
        return z3.Or(self.touched, off, worked)

    def is_word(self, name: str, word: str) -> Any:
        """The closed string has this word."""
        return self.value[name] == VOCABULARY[name].words.index(word)

    def assignments(
        self, facts: Mapping[str, Value], names: Iterable[str] = VOCABULARY
    ) -> list[tuple[Any, Any]]:
        """Return (variable, value) pairs that make the unit this one; unknown stays unknown."""
        pairs: list[tuple[Any, Any]] = []
        for name in names:
            pairs.append((self.known[name], z3.BoolVal(name in facts)))
            if name in facts:
                pairs += self._value_pairs(VOCABULARY[name], facts[name])
        return pairs

    def _value_pairs(self, fact: Fact, value: Value) -> list[tuple[Any, Any]]:
        if fact.kind == "list":
            held = value if isinstance(value, list) else []
            words = self.words[fact.name]
            return [(words[word], z3.BoolVal(word in held)) for word in fact.words]
        variable = self.value[fact.name]
        if fact.kind == "string":
            return [(variable, z3.IntVal(fact.words.index(str(value))))]
        if fact.kind == "bool":
            return [(variable, z3.BoolVal(bool(value)))]
        return [(variable, _number(value))]

    def facts_of(self, solution: Any) -> Facts:
        """Read a solution back as a set of facts."""
        facts: Facts = {}
        for name, fact in VOCABULARY.items():
            if z3.is_true(solution.eval(self.known[name], model_completion=True)):
                facts[name] = self._read(fact, solution)
        return facts

    def _read(self, fact: Fact, solution: Any) -> Value:
        if fact.kind == "list":
            words = self.words[fact.name]
            return [w for w in fact.words if z3.is_true(solution.eval(words[w]))]
        got = solution.eval(self.value[fact.name], model_completion=True)
        if fact.kind == "bool":
            return bool(z3.is_true(got))
        if fact.kind == "string":
            return fact.words[int(got.as_long())]
        if fact.kind == "int":
            return int(got.as_long())
        return float(got.as_fraction())


def _variable(fact: Fact) -> Any:
    makers = {"string": z3.Int, "bool": z3.Bool, "int": z3.Int, "double": z3.Real}
    return makers[fact.kind](fact.name)


@dataclass
class Model:
    """A pack over one open unit."""

    pack: Pack
    unit: Unit = field(default_factory=Unit)
    _rules: dict[str, Truth] = field(default_factory=dict)

    def condition(self, tree: Node) -> Truth:
        """Translate a condition; NotTranslated when it uses more than the model knows."""
        if tree.op == "_&&_":
            parts = [self.condition(part) for part in tree.all_of()]
            return Truth(z3.And(*(p.true for p in parts)), z3.Or(*(p.false for p in parts)))
        if tree.op == "_||_":
            parts = [self.condition(part) for part in tree.any_of()]
            return Truth(z3.Or(*(p.true for p in parts)), z3.And(*(p.false for p in parts)))
        if tree.op == "!_":
            inner = self.condition(tree.parts[0])
            return Truth(inner.false, inner.true)
        if tree.op == "_?_:_":
            return self._choice(tree)
        return self._leaf(tree)

    def _choice(self, tree: Node) -> Truth:
        test, yes, no = (self.condition(part) for part in tree.parts)
        return Truth(
            z3.Or(z3.And(test.true, yes.true), z3.And(test.false, no.true)),
            z3.Or(z3.And(test.true, yes.false), z3.And(test.false, no.false)),
        )

    def _leaf(self, tree: Node) -> Truth:
        if tree.op == "value" and isinstance(tree.value, bool):
            return Truth(z3.BoolVal(tree.value), z3.BoolVal(not tree.value))
        if tree.op == "name" and VOCABULARY[str(tree.value)].kind == "bool":
            name = str(tree.value)
            return self._when_known(name, self.unit.value[name])
        if tree.op == "@in":
            return self._membership(tree)
        if tree.op in ("_==_", "_!=_") and self._compares_words(tree):
            return self._words(tree)
        if tree.op in _COMPARISONS:
            left, right = (self.amount(part) for part in tree.parts)
            holds = _COMPARISONS[tree.op](left.value, right.value)
            defined = z3.And(left.defined, right.defined)
            return Truth(z3.And(defined, holds), z3.And(defined, z3.Not(holds)))
        raise NotTranslated(text(tree))

    def _when_known(self, name: str, holds: Any) -> Truth:
        known = self.unit.known[name]
        return Truth(z3.And(known, holds), z3.And(known, z3.Not(holds)))

    def _membership(self, tree: Node) -> Truth:
        left, right = tree.parts
        if left.op == "value" and right.op == "name":
            name, word = str(right.value), str(left.value)
            has = self.unit.words[name].get(word, z3.BoolVal(val=False))
            return self._when_known(name, has)
        if left.op == "name" and right.op == "list" and str(left.value) in self.unit.value:
            name = str(left.value)
            if all(isinstance(part.value, str) for part in right.parts):
                return self._when_known(
                    name, z3.Or(*(self._is(name, p.value) for p in right.parts))
                )
        raise NotTranslated(text(tree))

    def _is(self, name: str, word: object) -> Any:
        known = word in VOCABULARY[name].words
        return self.unit.is_word(name, str(word)) if known else z3.BoolVal(val=False)

    def _compares_words(self, tree: Node) -> bool:
        name, word = tree.parts
        named = name.op == "name" and VOCABULARY[str(name.value)].kind in ("string", "bool")
        return named and word.op == "value"

    def _words(self, tree: Node) -> Truth:
        name, word = str(tree.parts[0].value), tree.parts[1].value
        plain = isinstance(word, bool)
        same = self.unit.value[name] == word if plain else self._is(name, word)
        return self._when_known(name, same if tree.op == "_==_" else z3.Not(same))

    def amount(self, tree: Node) -> Amount:
        """Translate a sum over facts; NotTranslated for division by a fact and the like."""
        if tree.op == "value" and not isinstance(tree.value, bool | str):
            return Amount(z3.BoolVal(val=True), _number(tree.value))
        if tree.op == "name" and VOCABULARY[str(tree.value)].kind in ("int", "double"):
            name = str(tree.value)
            return Amount(self.unit.known[name], self.unit.value[name])
        if tree.op in ("double", "int") and len(tree.parts) == 1:
            inner = self.amount(tree.parts[0])
            return Amount(inner.defined, z3.ToReal(inner.value)) if tree.op == "double" else inner
        if tree.op == "size" and tree.parts[0].op == "name":
            name = str(tree.parts[0].value)
            held = [z3.If(has, 1, 0) for has in self.unit.words[name].values()]
            return Amount(self.unit.known[name], z3.Sum(held))
        if tree.op in _SUMS:
            left, right = (self.amount(part) for part in tree.parts)
            value = _SUMS[tree.op](left.value, right.value)
            return Amount(z3.And(left.defined, right.defined), value)
        if tree.op == "_?_:_":
            return self._amount_choice(tree)
        raise NotTranslated(text(tree))

    def _amount_choice(self, tree: Node) -> Amount:
        test = self.condition(tree.parts[0])
        yes, no = (self.amount(part) for part in tree.parts[1:])
        defined = z3.Or(z3.And(test.true, yes.defined), z3.And(test.false, no.defined))
        return Amount(defined, z3.If(test.true, yes.value, no.value))

    def rule(self, rule: Rule) -> Truth:
        """Translate a rule's condition, once."""
        if rule.id not in self._rules:
            self._rules[rule.id] = self.condition(rule.condition.tree)
        return self._rules[rule.id]

    def listed(self, key: str) -> Any:
        """The step is on the list: some rule that requires it is not plainly missed."""
        return z3.Or(self.listed_by_rules(key), self.listed_by_hazards(key))

    def listed_by_rules(self, key: str) -> Any:
        """Some rule requires the step."""
        asking = [rule for rule in self.pack.rules if key in rule.require]
        return z3.Or(*(self.rule(rule).possible for rule in asking))

    def listed_by_hazards(self, key: str) -> Any:
        """Some hazard that units may have on arrival is cleared by the step."""
        meeting = [h for h in self.pack.hazards if h.on_arrival and key in h.listed_steps]
        return z3.Or(*(self.possible(hazard) for hazard in meeting))

    def possible(self, hazard: Hazard) -> Any:
        """The hazard is not plainly impossible."""
        return self.condition(hazard.possible.tree).possible

    def held(self, key: str, gate: str) -> Any:
        """The step is on the list and a hold of this gate."""
        step = self.pack.steps[key]
        if not step.hold:
            return z3.BoolVal(val=False)
        return z3.And(self.listed(key), self._at_gate(step, gate))

    def _at_gate(self, step: Step, gate: str) -> Any:
        if step.gate_once_opened is None:
            return z3.BoolVal(step.gate == gate)
        opened = self.unit.opened
        return z3.If(
            opened, z3.BoolVal(step.gate_once_opened == gate), z3.BoolVal(step.gate == gate)
        )

    def limits(self, step: Step, reading: Reading, end: str) -> list[tuple[Any, Any]]:
        """Return (in force, value) for every limit at one end ("low" or "high") of a reading."""
        own = getattr(reading, end)
        in_force = [(z3.BoolVal(val=True), self._limit(own))] if own else []
        for rule in self.pack.rules:
            for limit in rule.limits:
                bound = getattr(limit, end)
                if (limit.step, limit.quantity) == (step.key, reading.quantity) and bound:
                    in_force.append((self.rule(rule).possible, self._limit(bound)))
        return in_force

    def _limit(self, limit: Limit) -> Any:
        value = _number(limit.number)
        for one in reversed(limit.worked_out):
            amount = self.amount(one.tree)
            value = z3.If(amount.defined, amount.value, value)
        return value


def _number(value: object) -> Any:
    if isinstance(value, int):
        return z3.IntVal(value)
    top, bottom = float(value).as_integer_ratio()  # type: ignore[arg-type]
    return z3.Q(top, bottom)
