"""Derives the checklist of one unit: pure, from a pack, facts and history."""

from __future__ import annotations

from collections.abc import Mapping

from checklists.engine.checklist import Checklist, is_opened
from checklists.engine.derivation_cache import DerivationCache, Evaluation
from checklists.engine.history import NOTHING_YET, History
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import Value

_CACHES: dict[str, DerivationCache] = {}
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
    unsigned = cache_of(pack).steps_for(Evaluation(facts), opened=opened)
    checklist = Checklist(pack, unsigned, facts, opened)
    return checklist.revalidate(history, two_people=two_people) if history.signoffs else checklist


def cache_of(pack: Pack) -> DerivationCache:
    """Return what was worked out before for this edition of the pack."""
    if pack.digest not in _CACHES:
        if len(_CACHES) >= _MOST_PACKS:
            _CACHES.clear()
        _CACHES[pack.digest] = DerivationCache(pack)
    return _CACHES[pack.digest]
