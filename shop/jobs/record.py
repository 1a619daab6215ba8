"""What a job's ledger says, reduced: facts, history, part needs, trials, soak, agreement.

A record is made by `shop.jobs.events.reduce`: each row adds what its type of event says. What
follows from all rows together is worked out here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from itertools import pairwise

from checklists.engine.history import Event, History
from checklists.engine.vocabulary import Facts
from shop.bench.statistics.intermittent import clean_trials, tries_in
from shop.jobs.agreed import Agreement, Question, beyond
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Job
from shop.jobs.needs import Need
from shop.preferences import current as preferences


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedTrial:
    """One try to see the fault; an outcome that cannot be read counts as the fault."""

    sequence: int
    at: datetime
    fault: bool
    conditions: tuple[str, ...] = ()
    off_minutes: float = 0.0
    on_minutes: float = 0.0
    note: str = ""


@dataclass(frozen=True, slots=True)
class RecordedReading:
    """One reading during a soak, in the unit of its quantity."""

    at: datetime
    quantity: str
    value: float


@dataclass(slots=True)
class SoakRun:
    """The last soak: `state` is running, interrupted (mains went), passed or failed."""

    started_at: datetime
    state: str = "running"
    ended_at: datetime | None = None
    readings: list[RecordedReading] = field(default_factory=list)

    @property
    def hours(self) -> float:
        """How long it ran by the record's clock, in hours; 0 while it runs."""
        return (self.ended_at - self.started_at).total_seconds() / 3600 if self.ended_at else 0.0

    def end(self, state: str, at: datetime) -> None:
        """End it; the clock stops at the first end."""
        self.state = state
        self.ended_at = self.ended_at or at


@dataclass(kw_only=True)
class Record:
    """One job's ledger, reduced. Make a new one after every write; never build one by hand."""

    job: Job
    rows: Sequence[AnyRow]
    # Rows that were withdrawn as wrong; they change the record no more.
    withdrawn: frozenset[int] = frozenset()
    history_events: list[Event] = field(default_factory=list)
    recorded_facts: Facts = field(default_factory=dict)
    findings: list[str] = field(default_factory=list)
    work: list[str] = field(default_factory=list)
    # Rows of all that may have cured it: work done, parts fitted, what was put right.
    repair_rows: list[int] = field(default_factory=list)
    trials: list[RecordedTrial] = field(default_factory=list)
    # Trials and work that were withdrawn: what they asked for is asked for still.
    withdrawn_trials: list[RecordedTrial] = field(default_factory=list)
    withdrawn_work_rows: list[int] = field(default_factory=list)
    # Trials without the fault since the last repair or fault, and the row from which they count.
    clean_trials_run: int = 0
    clean_trials_from: int = 0
    needs_by_row: dict[int, Need] = field(default_factory=dict)
    # The last word on each suspect that was spoken of: raised, ruled-out or confirmed.
    suspects: dict[str, str] = field(default_factory=dict)
    # What the customer says is wrong, each with its row.
    complaints: list[tuple[int, str]] = field(default_factory=list)
    soak_run: SoakRun | None = None
    # The day the customer was told, as last said.
    promised_on: date | None = None
    agreement: Agreement = field(default_factory=Agreement)
    questions: list[Question] = field(default_factory=list)

    def of_type(self, event_type: str) -> list[AnyRow]:
        """Return the rows of one type that still count, oldest first."""
        rows = [row for row in self.rows if row.event_type == event_type]
        return [row for row in rows if row.sequence not in self.withdrawn]

    @cached_property
    def history(self) -> History:
        """What the validity of sign-offs needs."""
        return History.of(self.history_events)

    @cached_property
    def facts(self) -> Facts:
        """All facts that rules may ask for; what was never recorded is absent."""
        facts = dict(self.recorded_facts)
        facts["findings"] = self.findings
        facts["work"] = self.work
        facts["job.stage"] = str(self.job.stage)
        facts["job.power"] = str(self.job.power)
        facts["job.cover"] = str(self.job.cover)
        facts["shop.practice"] = preferences.value("practice")
        mains = preferences.value("mains_volts")
        if mains:
            facts["shop.mains_volts"] = float(mains)
        facts["job.returned"] = self.job.returned_from_id is not None
        facts["job.beyond_agreed"] = bool(self.beyond)
        needed = self.clean_trials_needed
        if needed is not None:
            facts["job.clean_trials_needed"] = needed
        return facts

    @cached_property
    def clean_trials_needed(self) -> int | None:
        """Clean trials that the statistics ask for; None when no trial is on record.

        Counted are the trials before the first repair, and later ones up to the last fault:
        what came after that is the proof itself and must not soften the demand. A correction
        does not soften it either: the greater counts, with what was withdrawn and without.
        """
        with_all = [*self.trials, *self.withdrawn_trials]
        asked = (
            _clean_trials_needed(self.trials, self.repair_rows),
            _clean_trials_needed(with_all, [*self.repair_rows, *self.withdrawn_work_rows]),
        )
        return max((needed for needed in asked if needed is not None), default=None)

    def repaired(self, row: AnyRow) -> None:
        """Note something that may have cured the unit: clean trials count from here."""
        self.repair_rows.append(row.sequence)
        self.count_trials_from(row)

    def count_trials_from(self, row: AnyRow) -> None:
        """Forget the clean trials before this row."""
        self.clean_trials_run, self.clean_trials_from = 0, row.sequence

    @cached_property
    def clean_trials_counted(self) -> int:
        """The clean trials that prove something: as many as the unit had mains for, up to the last one.

        So a number that was typed, or a button that was pressed many times, proves nothing.
        """
        if self.clean_trials_run < 2:
            return self.clean_trials_run
        return min(self.clean_trials_run, tries_in(self._mains_seconds_of_trials()))

    def _mains_seconds_of_trials(self) -> float:
        """Return for how long mains was on by the record's clock while clean trials counted."""
        until = self.trials[-1]
        rows = [row for row in self.rows if row.sequence <= until.sequence]
        began = next((row.at for row in rows if row.sequence >= self.clean_trials_from), until.at)
        moves = [row for row in rows if row.event_type in ("power_applied", "power_removed")]
        seconds = 0.0
        for move, ended in pairwise([*moves, None]):
            if move is not None and move.event_type == "power_applied":
                over = ended.at if ended else until.at
                seconds += max(0.0, (over - max(move.at, began)).total_seconds())
        return seconds

    @property
    def needs(self) -> list[Need]:
        """The part needs in the order they came up."""
        return list(self.needs_by_row.values())

    @property
    def outstanding(self) -> list[Need]:
        """Needs that have not arrived."""
        return [need for need in self.needs if need.outstanding]

    @property
    def outstanding_required(self) -> list[Need]:
        """Required needs that have not arrived."""
        return [need for need in self.outstanding if need.required]

    @property
    def soak(self) -> str:
        """How the last soak stands: none, running, interrupted (mains went), passed or failed."""
        return self.soak_run.state if self.soak_run else "none"

    @property
    def estimate(self) -> str:
        """How the estimate stands: none, sent, yes, no or question."""
        return self.agreement.answer

    @property
    def asked(self) -> bool:
        """Whether the customer waits for an answer from us."""
        return self.estimate == "question" or any(one.reply is None for one in self.questions)

    @cached_property
    def beyond(self) -> list[str]:
        """Parts and work beyond what the customer agreed to, in words."""
        return beyond(self.agreement, self.needs, self.work)


def _clean_trials_needed(trials: Sequence[RecordedTrial], repairs: Sequence[int]) -> int | None:
    faults = [trial.sequence for trial in trials if trial.fault]
    until = max([min(repairs, default=float("inf")), *faults])
    counted = [trial for trial in trials if trial.sequence <= until]
    return clean_trials(len(faults), len(counted)).needed if counted else None
