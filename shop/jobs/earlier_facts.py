"""What an earlier job knew of the unit, to be taken over by the job that it is in now.

A fact takes steps off the list, so it is not taken because it was so once. What a unit was built
as stays; whatever a hand can have changed since (a fuse, a lead, a selector, a part) is taken only
by somebody who has looked. A word that is in neither list has to be looked at. What was wrong then,
and the damage then, are never offered.
"""

from __future__ import annotations

from dataclasses import dataclass

from checklists.engine.vocabulary import VOCABULARY, FactError, Value, accept_one
from shop.jobs import events, ledger
from shop.jobs.models import Job
from shop.jobs.record import Record

# Left out on purpose, since they take holds away and can have changed: supply, protective class
# and volts (another supply, an earth, a selector), rails and reservoirs (other parts), insulated
# devices and live heat sinks (other devices), lithium cell, valves' bias and dissipation (other
# valves), fuse and lead.
AS_BUILT = frozenset(
    f"unit.{name}"
    for name in (
        "kind",
        "output_stage",
        "year",
        "mains_selector",
        "rated_watts",
        "rated_load_ohms",
        "idle_watts",
        "emitter_ohms",
        "bias_millivolts",
        "offset_limit_millivolts",
        "has_valves",
        "bias_adjustable",
        "offset_adjustable",
        "output_relay",
        "has_laser",
        "moving_parts",
        "bridged_outputs",
        "standby_supply",
        "pfc_bus",
        "fan_cooled",
        "phantom_power",
    )
)


@dataclass(frozen=True)
class EarlierFact:
    """A fact as it was known then; `as_built` is whether it is taken without a look."""

    name: str
    value: Value

    @property
    def as_built(self) -> bool:
        """Whether no hand can have changed it without building the unit anew."""
        return self.name in AS_BUILT


def earlier_job(job: Job) -> Job | None:
    """Return the last closed job of the same unit; None when it was not here before."""
    closed = job.unit.jobs.filter(joined_into=None).exclude(closed_at=None).exclude(pk=job.pk)
    return closed.order_by("-number").first()


def known_then(earlier: Job) -> list[EarlierFact]:
    """Return the facts about the unit on the record of an earlier job, in the vocabulary's order."""
    recorded = events.reduce(earlier, ledger.read(earlier)).recorded_facts
    return [
        EarlierFact(name, recorded[name])
        for name, fact in VOCABULARY.items()
        if name.startswith("unit.") and not fact.computed and _still_fits(name, recorded)
    ]


def offered(record: Record, earlier: Job) -> list[EarlierFact]:
    """Return what an earlier job knew and this record does not."""
    return [fact for fact in known_then(earlier) if fact.name not in record.recorded_facts]


def _still_fits(name: str, recorded: dict[str, Value]) -> bool:
    """Whether it was known, and the vocabulary of today takes the value."""
    try:
        return name in recorded and accept_one(name, recorded[name]) == recorded[name]
    except FactError:
        return False
