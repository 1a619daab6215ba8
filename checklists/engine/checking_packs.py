"""Checks across the tables of a pack, once each table by itself has been read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from checklists.engine.pack import Reading, Rule, RuleLimit, Step
from checklists.engine.roles import STEP_ROLES, ReadingTerms, StepRole


def problems(rules: Mapping[str, Rule], steps: Mapping[str, Step]) -> list[str]:
    """Return a sentence for each name that leads nowhere, and for each role not given once."""
    sentences = _unrequired(rules.values(), steps)
    for rule in rules.values():
        sentences += _rule_problems(rule, steps)
    for step in steps.values():
        sentences += [
            f"Step {step.key} comes after {name}, which is no step."
            for name in step.after
            if name not in steps
        ]
    return [*sentences, *_role_problems(steps.values())]


def _unrequired(rules: Iterable[Rule], steps: Mapping[str, Step]) -> list[str]:
    required = {key for rule in rules for key in rule.require}
    return [f"Step {key} is required by no rule." for key in steps if key not in required]


def _rule_problems(rule: Rule, steps: Mapping[str, Step]) -> Iterator[str]:
    for key in rule.require:
        if key not in steps:
            yield f"Rule {rule.id} requires {key}, which is no step."
    for limit in rule.limits:
        yield from _limit_problems(f"Rule {rule.id} limits", limit, steps.get(limit.step))


def _limit_problems(label: str, limit: RuleLimit, step: Step | None) -> Iterator[str]:
    readings = {r.quantity: r for r in step.readings} if step else {}
    reading = readings.get(limit.quantity)
    if reading is None:
        yield f"{label} {limit.step}/{limit.quantity}, which is no reading."
    elif reading.signed and (limit.low is None) != (limit.high is None):
        # The other end of the step would stay, and half of what is meant would pass.
        yield f"{label} {limit.step}/{limit.quantity} at one end; it is signed, give min and max."


def _role_problems(steps: Iterable[Step]) -> Iterator[str]:
    players: dict[StepRole, list[str]] = {role: [] for role in StepRole}
    for step in steps:
        if step.role is not None:
            players[step.role].append(step.key)
    for role, keys in players.items():
        if not keys:
            yield f'No step has the role {role}; give it to one: role = "{role}". {role.does}'
        if len(keys) > 1:
            yield f"Steps {' and '.join(keys)} both have the role {role}; give it to one step."


def step_problems(step: Step) -> Iterator[str]:
    """Yield a sentence for each fault of a step that shows without the rest of the pack."""
    quantities = Counter(reading.quantity for reading in step.readings)
    yield from (f"reading {name} is there twice." for name, n in quantities.items() if n > 1)
    if step.hold and step.gate is None:
        yield "a hold step needs a gate."
    yield from _waiver_problems(step)
    if step.role is not None and STEP_ROLES[step.role].held and not step.hold:
        yield f"role {step.role} needs a hold step."
    yield from _reading_role_problems(step)


def _waiver_problems(step: Step) -> Iterator[str]:
    if step.waivable_by and not step.instead:
        yield "instead is missing; say what is done instead when it is waived."
    if step.instead and not step.waivable_by:
        yield "instead belongs to a step that can be waived; name waivable_by."


def _reading_role_problems(step: Step) -> Iterator[str]:
    wanted = STEP_ROLES[step.role].readings if step.role else {}
    given = [(reading.role, reading) for reading in step.readings if reading.role is not None]
    counts = Counter(role for role, _ in given)
    yield from (f"reading role {role} is there twice." for role, n in counts.items() if n > 1)
    for role in wanted:
        if role not in counts:
            yield f"role {step.role} needs a reading with role {role}."
    for role, reading in given:
        if role in wanted:
            yield from _broken_terms(reading, wanted[role])
        else:
            home = next(r for r, terms in STEP_ROLES.items() if role in terms.readings)
            yield f"reading role {role} belongs to a step with role {home}."


def _broken_terms(reading: Reading, terms: ReadingTerms) -> Iterator[str]:
    label = f"reading {reading.quantity}"
    if reading.unit != terms.unit:
        yield f"{label} is in {reading.unit}; role {reading.role} is read in {terms.unit}."
    if not (reading.required or terms.optional):
        yield f"{label} is optional; role {reading.role} has to be read."
    for end, limit in (("min", reading.low), ("max", reading.high)):
        if limit is None and end in terms.limits:
            yield f"{label} needs {end}; role {reading.role} is judged by it."
