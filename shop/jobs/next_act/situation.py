"""A job as the policies see it: its state, its record, and what stands against each move."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.utils.translation import gettext as _

from checklists.engine import doing, exposures
from checklists.engine.acts import Work
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.words import (
    COVER_OFF,
    FULL,
    HAND_BACK,
    HANDS,
    ISOLATED,
    LEAVE,
    LIMITED,
    LIVE,
    UNATTENDED,
)
from shop.jobs import guards
from shop.jobs.events.round_finished import RoundFinished
from shop.jobs.models import Job
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act
from shop.jobs.record import Record
from shop.jobs.recorded_readings import recorded_readings
from shop.jobs.stages import Power, Stage
from shop.lib.refusals import Refusal

# A move: power, cover, stage or sign, and where to or which step.
Move = tuple[str, str]
TO_RELEASE = (LIMITED, FULL, UNATTENDED, LEAVE)
_ROUNDED_HOURS = 0.05
_EVERY = (COVER_OFF, HANDS, LIVE, *TO_RELEASE)


@dataclass(frozen=True, eq=False)
class Situation:
    """One job now. Nothing here writes; what is in the way of a move is asked of the guards."""

    job: Job
    record: Record
    checklist: Checklist
    now: datetime

    @cached_property
    def stage(self) -> str:
        """The stage as a plain word."""
        return str(self.job.stage)

    @cached_property
    def energised(self) -> bool:
        """Whether mains is on, or may be."""
        return self.job.energised or self.job.unplug_due

    @property
    def open(self) -> bool:
        """Whether the cover is off."""
        return self.job.cover == "off"

    @property
    def declined(self) -> bool:
        """Whether the customer said no to the estimate: the unit goes back as it is."""
        return self.record.estimate == "no"

    def asked(self, *met: str) -> list[ListedStep]:
        """Return the steps that exposures ask and that do not stand, in the order of the list."""
        return exposures.asked(met, self.checklist)

    @cached_property
    def to_do(self) -> list[ListedStep]:
        """What the way to where the unit goes still asks."""
        return self.asked(HAND_BACK) if self.declined else self.asked(*TO_RELEASE)

    @cached_property
    def failed(self) -> ListedStep | None:
        """The first step on the way that failed, and that nothing has mended since."""
        if not self.checklist.failed:
            return None
        met = (COVER_OFF, HANDS, HAND_BACK) if self.declined else _EVERY
        unmended = (step for step in self.asked(*met) if self.is_unmended(step))
        return next(unmended, None)

    @property
    def unusable(self) -> ListedStep | None:
        """The step that makes the unit unusable, where it can be signed; None when it stands."""
        step = self.checklist.with_role(StepRole.MADE_UNUSABLE)
        return None if step is None or step.stands or step.state == "failed" else step

    def is_unmended(self, step: ListedStep) -> bool:
        """Whether a step failed and nothing was done about it since."""
        return step.state == "failed" and self.failed_at(step) > self.mended_at

    def failed_at(self, step: ListedStep) -> int:
        """Return the row of the last sign-off of a step."""
        signed = self.record.history.signoffs.get(step.key)
        return signed[-1].sequence if signed else 0

    @cached_property
    def mended_at(self) -> int:
        """The row in which something was last worked on or put right."""
        return max([self.round("mend"), *self.record.repair_rows])

    @cached_property
    def _rounds(self) -> dict[str, int]:
        rows = self.record.of_type(RoundFinished.event_type)
        return {str(row.data.get("round")): row.sequence for row in rows}

    def round(self, name: str) -> int:
        """Return the row in which a round at the bench was last said to be over; 0 when never."""
        return self._rounds.get(name, 0)

    def last(self, rows: Iterable[int]) -> int:
        """Return the last of these rows; 0 when there is none."""
        return max(rows, default=0)

    @cached_property
    def fault_at(self) -> int:
        """The row that last showed the fault: a trial, or a soak that failed."""
        trials = [trial.sequence for trial in self.record.trials if trial.fault]
        failed = self.record.of_type("soak_ended") if self.record.soak == "failed" else []
        return self.last([*trials, *(row.sequence for row in failed[-1:])])

    # What stands against a move

    def against(self, move: Move) -> list[Refusal]:
        """Return the reasons against a move, from the guards that would refuse it."""
        what, to = move
        job, record, checklist = self.job, self.record, self.checklist
        if what == "power":
            off = to == ISOLATED
            return [] if off else guards.against_power(job, record, checklist, Power(to))
        if what == "cover":
            off = to == "off"
            return guards.against_cover_off(job, checklist) if off else guards.against_cover_on(job)
        if what == "stage":
            return guards.against_stage(job, record, checklist, Stage(to))
        if what == "soak":
            return guards.against_soak_start(job, record, checklist)
        if what == "hands":
            return guards.against_work(job, checklist, Work())
        return self._against_signing(checklist.by_key[to])

    def _against_signing(self, step: ListedStep) -> list[Refusal]:
        if self.is_unmended(step):
            return [
                Refusal(
                    "failed",
                    _("{title}: it failed. Put it right first.").format(title=step.step.title),
                )
            ]
        if step.step.role is StepRole.SOAK and self.soak_due(step):
            return [
                Refusal("no-soak", _("{title}: it has not run yet.").format(title=step.step.title))
            ]
        if step.step.role is StepRole.CLEAN_TRIALS and self.trials_left(step):
            return [
                Refusal(
                    "trials-short", _("{title}: trials are missing.").format(title=step.step.title)
                )
            ]
        return guards.against_signing(self.job, self.checklist, step, "pass")

    def soak_due(self, step: ListedStep) -> bool:
        """Whether a soak has to run before its step can be signed as passed."""
        run = self.record.soak_run
        if run is None or self.record.soak != "passed":
            return True
        wanted = step.reading_with_role(ReadingRole.HOURS).low or 0.0
        short = run.hours + _ROUNDED_HOURS < wanted
        return short or doing.overtaken(step, self.record.history) is not None

    def trials_left(self, step: ListedStep) -> int:
        """Return how many trials without the fault are missing."""
        wanted = step.reading_with_role(ReadingRole.COUNT).low or 0.0
        return max(0, int(wanted) - self.record.clean_trials_counted)

    # Acts of a move

    def act(self, move: Move, why: str) -> Act:
        """Return the act that makes a move."""
        what, to = move
        if what == "sign":
            step = self.checklist.by_key[to]
            return acts.sign(step, _reason(step, why), recorded_readings(self.record, step))
        return {"power": acts.power, "cover": acts.cover, "stage": acts.stage}[what](to, why)


def _reason(step: ListedStep, why: str) -> str:
    """Say why a step is on the list, and what ended it when something did."""
    because = step.reasons[0].text if step.reasons else why
    ended = step.validity.why if step.state in ("ended", "failed") else ""
    return " ".join(filter(None, [because, ended]))
