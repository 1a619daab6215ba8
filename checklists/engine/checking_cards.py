"""Checks of the cards: each is one thing that a person can do in one state of the unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from checklists.engine.pack import Card, Step


def problems(cards: Mapping[str, Card], steps: Mapping[str, Step]) -> list[str]:
    """Return a sentence for each card that leads nowhere, and each that cannot be done in one go."""
    found = [
        f"Step {step.key} is done together with {step.together}, which is no card."
        for step in steps.values()
        if step.together and step.together not in cards
    ]
    for name in cards:
        found += _card_problems(name, [s for s in steps.values() if s.together == name])
    return found


def _card_problems(name: str, steps: list[Step]) -> Iterator[str]:
    if len(steps) < 2:
        yield f"Card {name} has {len(steps)} steps; a card is for several."
    for gate in sorted({gate for step in steps for gate in _gates(step)}):
        yield from _contradictions(
            f"Card {name} at {gate}", [s for s in steps if gate in _gates(s)]
        )
    if steps and not _common(step.signed_by for step in steps):
        yield f"Card {name}: no role signs all of its steps."


def _gates(step: Step) -> set[str]:
    return {gate for gate in (step.gate, step.gate_once_opened) if gate}


def _contradictions(label: str, steps: list[Step]) -> Iterator[str]:
    """Say where one step needs a power or a cover that another one excludes."""
    keys = ", ".join(step.key for step in steps)
    powers = [step.needs_power for step in steps if step.needs_power]
    if powers and not _common(powers):
        yield f"{label}: {keys} are not done under the same power."
    if len({step.needs_cover for step in steps if step.needs_cover}) > 1:
        yield f"{label}: {keys} are not done with the same cover."


def _common(choices: Iterable[tuple[str, ...]]) -> set[str]:
    return set.intersection(*(set(choice) for choice in choices))
