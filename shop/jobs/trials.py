"""The trials of a job: how often, under which conditions, and what the clean ones prove."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shop.bench.statistics import intermittent
from shop.bench.statistics.intermittent import BeforeAfter, FaultRate, Influences, Trial
from shop.jobs.record import AnyRow, Record

LONG_OFF_MINUTES, LONG_ON_MINUTES = 30.0, 10.0


@dataclass(frozen=True)
class Trials:
    """All that a job's trials say."""

    rows: Sequence[AnyRow]
    rate: FaultRate | None
    conditions: Influences
    needed: int
    clean: int
    proof: BeforeAfter | None

    @property
    def faults(self) -> int:
        """How often the fault showed."""
        return sum(1 for row in self.rows if row.data["fault"])

    @property
    def left(self) -> int:
        """Clean trials still to run."""
        return max(0, self.needed - self.clean)


def trials_of(record: Record) -> Trials:
    """Return what the trials on record say.

    The rate and the conditions are those before the first work: what the work changed must
    not water down how the fault behaved. Without work all trials count.
    """
    rows = record.of_type("trial_run")
    works = [row.sequence for row in record.rows if row.event_type in ("work_done", "part_fitted")]
    before = [row for row in rows if not works or row.sequence < works[0]]
    after = [row for row in rows if works and row.sequence > works[-1]]
    seen = [_trial(row) for row in before]
    faults = sum(1 for trial in seen if trial.fault)
    return Trials(
        rows,
        intermittent.fault_rate(faults, len(seen)) if seen else None,
        intermittent.which_condition(seen),
        record.clean_trials_needed or intermittent.UNSEEN,
        record.clean_trials_run,
        _proof(before, after),
    )


def _trial(row: AnyRow) -> Trial:
    """Return a trial with its conditions; long pauses and long runs count as conditions too."""
    named = set(row.data.get("conditions", ()))
    if float(row.data.get("off_minutes") or 0) >= LONG_OFF_MINUTES:
        named.add("off-half-an-hour-or-more")
    if float(row.data.get("on_minutes") or 0) >= LONG_ON_MINUTES:
        named.add("on-ten-minutes-or-more")
    return Trial(frozenset(named), bool(row.data["fault"]))


def _proof(before: Sequence[AnyRow], after: Sequence[AnyRow]) -> BeforeAfter | None:
    if not before or not after:
        return None
    counts = [(sum(1 for row in rows if row.data["fault"]), len(rows)) for rows in (before, after)]
    return intermittent.before_after(*counts[0], *counts[1])
