"""Derives the checklist of one unit: pure, from a pack, facts and history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from checklists.engine.checklist import Checklist, is_opened
from checklists.engine.derivation_cache import DerivationCache, Evaluation
from checklists.engine.history import NOTHING_YET, History
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import Value

_CACHES: dict[str, DerivationCache] = {}
_MOST_PACKS = 8
# Sets of facts for which one history is derived: a job has one, a proof has many.
_MOST_OF_ONE_HISTORY = 8


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
    signature for steps that ask for one. A hazard that is raised, or possible on arrival, keeps
    the steps that clear it on the list, whatever the rules say. Of a unit that was derived before,
    only the sign-offs are judged anew. Pure; raises nothing on accepted facts.
    """
    cache = cache_of(pack)
    unit = cache.unit(facts)
    if not history.signoffs:
        return _of(pack, _unsigned(unit, facts, history))
    found = history.derived.get((unit, two_people))
    if found is None:
        if len(history.derived) >= _MOST_OF_ONE_HISTORY:
            history.derived.clear()
        found = _unsigned(unit, facts, history).revalidate(history, two_people=two_people)
        history.derived[unit, two_people] = found
    return _of(pack, found)


def _unsigned(unit: Evaluation, facts: Mapping[str, Value], history: History) -> Checklist:
    cache = unit.cache
    opened, failed = is_opened(facts, history), _failed(cache.pack, history)
    return cache.unsigned(unit, cache.armed(unit, history), failed, opened=opened)


def _of(pack: Pack, found: Checklist) -> Checklist:
    # The same edition may have been read again.
    return found if found.pack is pack else replace(found, pack=pack)


def _failed(pack: Pack, history: History) -> frozenset[str]:
    # A set meets a table by walking all of the table.
    return frozenset(key for key in history.failed if key in pack.steps)


def cache_of(pack: Pack) -> DerivationCache:
    """Return what was worked out before for this edition of the pack."""
    if pack.digest not in _CACHES:
        if len(_CACHES) >= _MOST_PACKS:
            _CACHES.clear()
        _CACHES[pack.digest] = DerivationCache(pack)
    return _CACHES[pack.digest]
