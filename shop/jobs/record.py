"""What a job's ledger says, read once: facts, history, part needs, soak, estimate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeAlias

from django.conf import settings

from checklists.engine.history import Event, History
from checklists.engine.vocabulary import Facts
from shop.bench.statistics.intermittent import clean_trials
from shop.jobs.agreed import Agreement, Question, agreement, beyond, questions

if TYPE_CHECKING:
    from shop.jobs.ledger import Row
    from shop.jobs.models import Job, LedgerRow

AnyRow: TypeAlias = "LedgerRow | Row"


ABOUT_A_NEED = frozenset(
    {"part_ordered", "part_arrived", "part_fitted", "part_lost", "part_specified"}
)


@dataclass(slots=True)
class Need:
    """A part that a job needs; `sequence` of its ledger row is its name."""

    sequence: int
    spec: str
    required: bool
    quantity: int = 1
    part: int | None = None
    ordered: bool = False
    pieces: int = 0
    fitted: bool = False
    order: int | None = None

    @property
    def arrived(self) -> bool:
        """Whether all pieces are here."""
        return self.pieces >= self.quantity

    @property
    def missing(self) -> int:
        """Pieces that have not arrived."""
        return max(0, self.quantity - self.pieces)

    @property
    def outstanding(self) -> bool:
        """Whether it has neither arrived nor been fitted."""
        return not (self.arrived or self.fitted)

    def took(self, kind: str, data: dict[str, Any]) -> None:
        """Follow one later ledger row about this need."""
        if kind == "part_ordered":
            self.ordered, self.order = True, data.get("order")
        elif kind == "part_arrived":
            self.pieces += int(data.get("quantity") or self.missing)
        elif kind == "part_fitted":
            self.fitted = True
        elif kind == "part_lost":
            self.ordered, self.order = False, None
            if data["why"] == "sent-back":
                self.pieces = 0
        elif kind == "part_specified":
            self.spec = str(data.get("new_spec") or self.spec)
            self.quantity = int(data.get("quantity") or self.quantity)
            self.part = data.get("part", self.part)


@dataclass(frozen=True)
class Record:
    """One job's ledger, reduced. Build a new one after every write."""

    job: Job
    rows: Sequence[AnyRow]

    def of_type(self, event_type: str) -> list[AnyRow]:
        """Return the rows of one type, oldest first."""
        return [row for row in self.rows if row.event_type == event_type]

    @property
    def last(self) -> AnyRow | None:
        """The newest row."""
        return self.rows[-1] if self.rows else None

    @cached_property
    def history(self) -> History:
        """What the validity of sign-offs needs."""
        return History.of(_event(row) for row in self.rows)

    @cached_property
    def facts(self) -> Facts:
        """All facts that rules may ask for; what was never recorded is absent."""
        facts: Facts = {r.data["name"]: r.data["value"] for r in self.of_type("fact_recorded")}
        facts["findings"] = _distinct(self.of_type("finding_recorded"), "finding")
        facts["work"] = _distinct(self.of_type("work_done"), "work")
        facts["job.stage"] = str(self.job.stage)
        facts["job.power"] = str(self.job.power)
        facts["job.cover"] = str(self.job.cover)
        facts["shop.practice"] = settings.PRACTICE
        facts["job.returned"] = self.job.returned_from_id is not None
        facts["job.beyond_agreed"] = bool(self.beyond)
        needed = self.clean_trials_needed
        if needed is not None:
            facts["job.clean_trials_needed"] = needed
        return facts

    @cached_property
    def clean_trials_needed(self) -> int | None:
        """Clean trials that the statistics ask for; None when no trial is on record.

        Counted are the trials before the first work, and later ones up to the last fault:
        what came after that is the proof itself and must not soften the demand.
        """
        trials = self.of_type("trial_run")
        works = self.of_type("work_done")
        faults = [row.sequence for row in trials if row.data["fault"]]
        until = works[0].sequence if works else float("inf")
        until = max([until, *faults])
        counted = [row for row in trials if row.sequence <= until]
        if not counted:
            return None
        return clean_trials(len(faults), len(counted)).needed

    @property
    def clean_trials_run(self) -> int:
        """Trials without the fault since the last work or fault."""
        count = 0
        for row in self.rows:
            if row.event_type in ("work_done", "part_fitted"):
                count = 0
            elif row.event_type == "trial_run":
                count = 0 if row.data["fault"] else count + 1
        return count

    @cached_property
    def needs(self) -> list[Need]:
        """The part needs in the order they came up."""
        needs: dict[int, Need] = {}
        for row in self.rows:
            if row.event_type == "part_needed":
                data = row.data
                needs[row.sequence] = Need(
                    row.sequence,
                    str(data["spec"]),
                    bool(data["required"]),
                    int(data.get("quantity", 1)),
                    data.get("part"),
                )
            elif row.event_type in ABOUT_A_NEED:
                need = needs.get(row.data.get("need", 0))
                if need is not None:
                    need.took(row.event_type, row.data)
        return list(needs.values())

    @property
    def outstanding(self) -> list[Need]:
        """Needs that have not arrived."""
        return [need for need in self.needs if need.outstanding]

    @property
    def outstanding_required(self) -> list[Need]:
        """Required needs that have not arrived."""
        return [need for need in self.outstanding if need.required]

    @cached_property
    def suspects(self) -> dict[str, str]:
        """The last word on each suspect that was spoken of: raised, ruled-out or confirmed."""
        rows = self.of_type("suspect_changed")
        return {str(row.data["suspect"]): str(row.data["change"]) for row in rows}

    @cached_property
    def soak(self) -> str:
        """How the last soak stands: none, running, interrupted (mains went), passed or failed."""
        state = "none"
        for row in self.rows:
            if row.event_type == "soak_started":
                state = "running"
            elif row.event_type == "soak_ended":
                state = "failed" if row.data.get("result") == "fail" else "passed"
            elif row.event_type == "power_removed" and state == "running":
                state = "interrupted"
        return state

    @cached_property
    def promised_on(self) -> date | None:
        """The day the owner was told, as last said."""
        said = self.of_type("promise_made")
        return date.fromisoformat(said[-1].data["on"]) if said and said[-1].data["on"] else None

    @cached_property
    def agreement(self) -> Agreement:
        """What the owner agreed to."""
        return agreement(self.rows)

    @property
    def estimate(self) -> str:
        """How the estimate stands: none, sent, yes, no or question."""
        return self.agreement.answer

    @cached_property
    def questions(self) -> list[Question]:
        """What the owner asked, with what was said to it."""
        return questions(self.rows)

    @property
    def asked(self) -> bool:
        """Whether the owner waits for an answer from us."""
        return self.estimate == "question" or any(one.reply is None for one in self.questions)

    @cached_property
    def beyond(self) -> list[str]:
        """Parts and work beyond what the owner agreed to, in words."""
        work = _distinct(self.of_type("work_done"), "work")
        return beyond(self.agreement, self.needs, work)


def _event(row: AnyRow) -> Event:
    data = row.data if row.event_type in _TELLING else _NOTHING
    return Event(
        sequence=row.sequence,
        event_type=row.event_type,
        by=row.by_name,
        work=data.get("work", ""),
        finding=data.get("finding", ""),
        section=data.get("section", ""),
        step=data.get("step", ""),
        result=data.get("result", ""),
        content_hash=data.get("substance", ""),
    )


_TELLING = frozenset({"work_done", "finding_recorded", "step_signed", "step_waived", "part_fitted"})
_NOTHING: dict[str, Any] = {}


def _distinct(rows: Sequence[AnyRow], name: str) -> list[str]:
    return list(dict.fromkeys(str(row.data[name]) for row in rows))
