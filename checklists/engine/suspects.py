"""Which possible causes the pack raises for a unit, and with which weight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from checklists.engine import cel
from checklists.engine.pack import Pack, Suspect
from checklists.engine.vocabulary import Value


@dataclass(frozen=True, slots=True)
class RaisedSuspect:
    """A cause that the facts make possible; `stronger` when a finding speaks for it."""

    suspect: Suspect
    weight: float
    stronger: bool


def raised(pack: Pack, facts: Mapping[str, Value]) -> list[RaisedSuspect]:
    """Return the causes whose condition is plainly true, in the order of the pack.

    A condition that cannot be decided raises nothing: a suspect is a hint, never a hold.
    """
    bound = cel.Bound(facts)
    causes = []
    for suspect in pack.suspects:
        if suspect.condition.outcome(bound) is not cel.Outcome.HIT:
            continue
        stronger = suspect.more is not None and suspect.more.outcome(bound) is cel.Outcome.HIT
        weight = suspect.weight * (suspect.times if stronger else 1.0)
        causes.append(RaisedSuspect(suspect, weight, stronger))
    return causes
