"""Derives the checklist of one unit: pure, from a pack, facts and history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from checklists.engine import standing
from checklists.engine.checklist import Checklist, ListedStep, is_opened
from checklists.engine.history import NOTHING_YET, History
from checklists.engine.memory import Memory, Question
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import Value

_MEMORIES: dict[str, Memory] = {}
_MOST_PACKS = 8


def derive(
    pack: Pack,
    facts: Mapping[str, Value],
    history: History = NOTHING_YET,
    *,
    two_people: bool = False,
) -> Checklist:
    """Return the checklist for facts taken by `vocabulary.accept`.

    A rule that cannot be decided keeps its steps. Rules that require the same step merge:
    every reason is kept and the strictest limit wins. `two_people` turns on the second
    signature for steps that ask for one. Pure; raises nothing on accepted facts.
    """
    opened = is_opened(facts, history)
    steps = memory_of(pack).listed(Question(facts), opened=opened)
    if history.signoffs:
        steps = tuple(
            _stood(step, history, two_people) if step.key in history.signoffs else step
            for step in steps
        )
    return Checklist(pack, steps, facts, opened)


def _stood(step: ListedStep, history: History, two_people: bool) -> ListedStep:
    stands = standing.of(step.step, step.substance, history, two_people=two_people)
    return replace(step, standing=stands)


def memory_of(pack: Pack) -> Memory:
    """Return what was worked out before for this edition of the pack."""
    if pack.digest not in _MEMORIES:
        if len(_MEMORIES) >= _MOST_PACKS:
            _MEMORIES.clear()
        _MEMORIES[pack.digest] = Memory(pack)
    return _MEMORIES[pack.digest]
