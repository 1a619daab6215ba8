"""Which possible causes the pack raises for a unit, and with which weight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from checklists.engine import cel
from checklists.engine.pack import Pack, Suspicion
from checklists.engine.vocabulary import Value


@dataclass(frozen=True, slots=True)
class Raised:
    """A cause that the facts make possible; `stronger` when a finding speaks for it."""

    suspicion: Suspicion
    weight: float
    stronger: bool


def raised(pack: Pack, facts: Mapping[str, Value]) -> list[Raised]:
    """Return the causes whose condition is plainly true, in the order of the pack.

    A condition that cannot be decided raises nothing: a suspect is a hint, never a hold.
    """
    bound = cel.Bound(facts)
    found = []
    for one in pack.suspicions:
        if one.condition.outcome(bound) is not cel.Outcome.HIT:
            continue
        stronger = one.more is not None and one.more.outcome(bound) is cel.Outcome.HIT
        found.append(Raised(one, one.weight * (one.times if stronger else 1.0), stronger))
    return found
