"""Reads for pages, API and commands; nothing here writes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from django.db import DEFAULT_DB_ALIAS
from django.db.models import (
    BigIntegerField,
    Case,
    CharField,
    Count,
    F,
    Max,
    Q,
    QuerySet,
    Value,
    When,
)
from django.http import Http404
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.engine import exposures
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.quoting import quoted
from checklists.engine.words import GATES, HANDS
from shop.jobs import events, guards, ledger, next_act, replayed, sheets
from shop.jobs.models import Job, JobPart, LedgerRow, Permit
from shop.jobs.record import Record
from shop.jobs.stages import FOLLOWS, Cover, Power, Stage, Waiting
from shop.lib.prepared import Prepared
from shop.lib.refusals import Refusal

# What `jobs` reads beside the job itself.
WITH_UNIT: dict[str, Any] = {"related": ("unit",), "annotated": ("waiting",)}
LARGEST_NUMBER = BigIntegerField.MAX_BIGINT


def jobs(now: datetime) -> QuerySet[Job]:
    """Return all jobs, newest first, with `waiting` as it is at `now` (aware).

    A job that waits on hands and whose patience has run out waits on nobody: it has stalled.
    """
    stalled = Q(waiting_on=Waiting.HANDS, due_at__lt=now)
    waiting = Case(
        When(stalled, then=Value(Waiting.NOBODY.value)),
        default=F("waiting_on"),
        output_field=CharField(),
    )
    return Job.objects.select_related("unit").annotate(waiting=waiting).order_by("-number")


_JOB = Prepared(lambda number, now: jobs(now).filter(pk=number)[:1], int, datetime, **WITH_UNIT)
_ROWS = Prepared(lambda number: LedgerRow.objects.filter(job=number).order_by("sequence"), int)


def job(number: int, now: datetime) -> Job:
    """Return one job with `waiting`; Http404 with a sentence when there is none."""
    found = _JOB.first(number, now) if 0 < number <= LARGEST_NUMBER else None
    if found is None:
        raise Http404(_("There is no job {number}.").format(number=quoted(number)))
    return found


def rows_of(job: Job) -> list[LedgerRow]:
    """Return a job's ledger, oldest first."""
    return _ROWS(job.number)


def record_of(job: Job) -> Record:
    """Read a job's ledger and reduce it."""
    return events.reduce(job, ledger.read(job), now=timezone.now())


def outstanding_parts() -> list[dict[str, object]]:
    """Return every part that open jobs still wait for, longest wait first; one query."""
    return [
        {
            "job": part.job_id,
            "need": part.need,
            "spec": part.spec,
            "required": part.required,
            "ordered": part.ordered,
            "since": part.needed_at,
            "part": part.part_id,
            "quantity": part.quantity,
            "arrived": part.arrived,
        }
        for part in JobPart.objects.filter(outstanding=True).order_by("needed_at", "pk")
    ]


def kit_for(job: Job) -> list[dict[str, Any]]:
    """Return what earlier jobs on this make and model took, most often first; one query.

    Parts that this job needs already are left out. A unit without make and model has no kit.
    """
    unit = job.unit
    if not (unit.make and unit.model):
        return []
    took = JobPart.objects.filter(job__unit__make=unit.make, job__unit__model=unit.model)
    here = JobPart.objects.filter(job=job).values("spec")
    fitted = took.filter(fitted=True).exclude(job=job).exclude(spec__in=here)
    counted = (
        fitted.order_by().values("spec", "part").annotate(times=Count("pk"), pieces=Max("quantity"))
    )
    return [dict(row) for row in counted.order_by("-times", "spec")[:12]]


def following(digest: str) -> tuple[int, int]:
    """Return how many open jobs are derived under this edition of the pack, and how many are open."""
    open_jobs = Job.objects.filter(closed_at=None)
    return open_jobs.filter(pack_digest=digest).count(), open_jobs.count()


def ledger_faults(using: str = DEFAULT_DB_ALIAS) -> Iterable[str]:
    """Check every chain, and what each job says against its ledger; yield a sentence for each fault."""
    live: dict[int, list[str]] = {}
    permits = Permit.objects.using(using).filter(ended_at=None)
    for number, power in permits.values_list("job_id", "power"):
        live.setdefault(number, []).append(power)
    # Only what every release has: a backup is looked at before it is migrated.
    columns = ("number", "head", "stage", "power", "cover", "closed_at", "unplug_due")
    for job in Job.objects.using(using).only(*columns).order_by("number").iterator():
        rows = list(LedgerRow.objects.using(using).filter(job=job.number).order_by("sequence"))
        yield from ledger.faults(rows, job.head)
        yield from replayed.faults(job, rows, live.get(job.number, []))


@dataclass(frozen=True)
class GateView:
    """A gate as the traveller draws it."""

    name: str
    meaning: str
    steps: list[ListedStep]

    @property
    def unmet(self) -> list[ListedStep]:
        """The steps that keep it shut."""
        return [step for step in self.steps if not step.stands]

    @property
    def open(self) -> bool:
        """Whether every hold step stands."""
        return not self.unmet


@dataclass(frozen=True)
class Move:
    """A control of the traveller: where it leads, and why it is refused if it is."""

    to: str
    refusals: list[Refusal]

    @property
    def plain(self) -> list[Refusal]:
        """The reasons that are not hold steps."""
        return [refusal for refusal in self.refusals if not refusal.step]

    @property
    def unmet(self) -> list[Refusal]:
        """The hold steps in the way."""
        return [refusal for refusal in self.refusals if refusal.step]


@dataclass(frozen=True)
class Traveller:
    """All that the sheet of one job shows, read with one job and one ledger query."""

    job: Job
    record: Record
    checklist: Checklist

    @classmethod
    def of(cls, job: Job) -> Traveller:
        """Read the ledger and derive the checklist."""
        record = record_of(job)
        return cls(job, record, sheets.checklist_for(record))

    def next_act(self, now: datetime) -> next_act.Act:
        """The one thing to do at `now` (aware)."""
        return next_act.act_for(self.job, self.record, self.checklist, now)

    @property
    def gates(self) -> dict[str, GateView]:
        """Every gate with its hold steps."""
        return {
            name: GateView(name, meaning, self.checklist.gate(name))
            for name, meaning in GATES.items()
        }

    @property
    def before_hands(self) -> list[ListedStep]:
        """What stands between the open unit, mains off, and the first hand in it."""
        if self.job.closed or self.job.energised or self.job.cover == Cover.ON:
            return []
        return [hindrance.step for hindrance in exposures.against(HANDS, self.checklist)]

    @cached_property
    def power_moves(self) -> list[Move]:
        """Limited or full power, whichever comes next, with the reasons against it."""
        to = Power.LIMITED if self.job.power == Power.ISOLATED else Power.FULL
        if self.job.power == Power.FULL:
            return []
        against = guards.against_power(self.job, self.record, self.checklist, to)
        return [Move(to.value, against)]

    @property
    def cover_move(self) -> Move:
        """The other state of the cover."""
        if self.job.cover == Cover.OFF:
            return Move(Cover.ON.value, guards.against_cover_on(self.job))
        return Move(Cover.OFF.value, guards.against_cover_off(self.job, self.checklist))

    @property
    def stage_moves(self) -> list[Move]:
        """Every stage that can follow, with the reasons against it."""
        return [
            Move(to.value, guards.against_stage(self.job, self.record, self.checklist, to))
            for to in FOLLOWS[Stage(self.job.stage)]
        ]
