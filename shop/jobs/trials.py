"""The trials of a job: how often, under which conditions, and what the clean ones prove."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop.bench.statistics import intermittent
from shop.bench.statistics.intermittent import BeforeAfter, FaultRate, Influences, Trial
from shop.jobs.record import Record, RecordedTrial

LONG_OFF_MINUTES, LONG_ON_MINUTES = 30.0, 10.0


@dataclass(frozen=True, kw_only=True)
class Trials:
    """All that a job's trials say."""

    runs: Sequence[RecordedTrial]
    rate: FaultRate | None
    conditions: Influences
    needed: int
    clean: int
    proof: BeforeAfter | None

    @property
    def faults(self) -> int:
        """How often the fault showed."""
        return _faults(self.runs)

    @property
    def left(self) -> int:
        """Clean trials still to run."""
        return max(0, self.needed - self.clean)


def trials_of(record: Record) -> Trials:
    """Return what the trials on record say.

    The rate and the conditions are those before the first work: what the work changed must
    not water down how the fault behaved. Without work all trials count.
    """
    repairs = record.repair_rows
    before = [one for one in record.trials if not repairs or one.sequence < repairs[0]]
    after = [one for one in record.trials if repairs and one.sequence > repairs[-1]]
    seen = [_trial(one) for one in before]
    return Trials(
        runs=record.trials,
        rate=intermittent.fault_rate(_faults(before), len(seen)) if seen else None,
        conditions=intermittent.which_condition(seen),
        needed=record.clean_trials_needed or intermittent.UNSEEN,
        clean=record.clean_trials_counted,
        proof=_proof(before, after),
    )


def _trial(one: RecordedTrial) -> Trial:
    """Return a trial with its conditions; long pauses and long runs count as conditions too."""
    named = set(one.conditions)
    if one.off_minutes >= LONG_OFF_MINUTES:
        named.add("off-half-an-hour-or-more")
    if one.on_minutes >= LONG_ON_MINUTES:
        named.add("on-ten-minutes-or-more")
    return Trial(frozenset(named), one.fault)


def _faults(runs: Sequence[RecordedTrial]) -> int:
    return sum(1 for one in runs if one.fault)


def _proof(before: Sequence[RecordedTrial], after: Sequence[RecordedTrial]) -> BeforeAfter | None:
    if not before or not after:
        return None
    return intermittent.before_after(_faults(before), len(before), _faults(after), len(after))
