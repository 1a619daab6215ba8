"""The one true fault of a sick unit: when it is there, what shows it, and when it hurts.

Of a healthy unit there is none; then everything here is quiet.
"""

from __future__ import annotations

from typing import Any

from checklists.engine.bench_units import Mend, Unit
from shop.jobs.models import Job

# What is met as well where an exposure is met: who gets to full mains has had the limiter.
_BEYOND = {
    "limited": ("limited", "full", "unattended", "leave"),
    "full": ("full", "unattended", "leave"),
    "unattended": ("unattended", "leave"),
}


class Harm(AssertionError):
    """The fault met the exposure that it must not meet."""


class Fault:
    """What is wrong with a unit now."""

    def __init__(self, unit: Unit) -> None:
        self._unit, self.sick = unit, unit.sick
        # Whether it is there, and whether people know of it.
        self.there = unit.sick is not None and unit.sick.comes == "arrival"
        self.known = False
        self._came = self.there
        self._was_open = False

    @property
    def complaint(self) -> str:
        return self.sick.complaint if self.sick else self._unit.healthy.complaint

    @property
    def true(self) -> dict[str, float]:
        """What meters show now."""
        return self._unit.wrong if self.there else self._unit.true

    @property
    def its_own(self) -> list[Mend]:
        """What the unit came for: of a sick one that tells another complaint, the fault alone."""
        sick = self.sick
        if sick is None:
            return self._unit.healthy.mend
        if sick.work_first:
            return sick.work_first
        return [] if "complaint.symptoms" in sick.facts else self._unit.healthy.mend

    @property
    def to_mend(self) -> list[Mend]:
        """What is known to be wrong; of a fault nothing before it shows."""
        return [*self.its_own, *(self.sick.mend if self.sick and self.known else ())]

    @property
    def in_trials(self) -> bool:
        """Whether a trial shows it: the customer complains of it, or it comes back."""
        sick = self.sick
        return self.there and sick is not None and (sick.trials_fail or not self.its_own)

    @property
    def shows_in_soak(self) -> bool:
        """Whether the sink, or the unit itself, says so while it runs."""
        return self.there and self.sick is not None and "soak-run" in self.sick.stopped_by

    def shows_at(self, key: str) -> bool:
        """Whether a step without a reading cannot honestly be passed."""
        return self.there and self.sick is not None and key in self.sick.shows_at

    def put_right(self, key: str) -> None:
        """Do by hand what the failed step says: discharge, set, untie."""
        if self.sick is not None and key in self.sick.mended_by_hand:
            self.there = False

    # What happens to it

    def after_power(self, to: str) -> None:
        """Charge again what mains charges, as long as its part is not replaced."""
        if to != "isolated" and self.sick and self.sick.mended_by_hand and self.sick.mend:
            self.there = self._came

    def after_cover(self, to: str) -> None:
        if to == "on" and self._was_open:
            self._comes_by("closing")
        self._was_open |= to == "off"

    def after_work(self, done: list[Mend]) -> None:
        if self.sick is None:
            return
        if self._came and self.sick.mend and all(m in done for m in self.sick.mend if m.work):
            self.there = self._came = False
        elif not self._came and all(m in done for m in self.its_own):
            self._comes_by("work")

    def _comes_by(self, how: str) -> None:
        if self.sick is not None and self.sick.comes == how and not self.known:
            self.there = self._came = True

    # Who sees it

    def look(self, job: Job) -> None:
        """Know of what is plain to see, at the counter or in the open unit."""
        if self.sick is None or not self.there:
            return
        seen = self.sick.seen
        self.known |= seen == "counter" or (seen == "open" and job.cover == "off")

    def seen_now(self, job: Job) -> list[Mend]:
        """Return what can be told as a finding now: inside only what the open unit shows."""
        own = self.its_own if job.cover == "off" and job.power == "isolated" else []
        return [*own, *(self.sick.mend if self.sick and self.known else ())]

    # When it hurts

    def meets(self, job: Job, story: str) -> None:
        """Raise Harm when mains or the door has met the fault."""
        before = self.sick.before if self.sick and self.there and self._can_be_known else ""
        met = {str(job.power), str(job.stage)}
        met |= {"live"} if job.cover == "off" and job.energised else set()
        met |= {"unattended"} if "soaking" in met and job.energised else set()
        met |= {"leave"} if "released" in met else set()
        if met & set(_BEYOND.get(before, (before,))):
            raise Harm(f"{self._unit.name}: it met {before}.\n{story}")

    @property
    def _can_be_known(self) -> bool:
        """Of what only the open unit shows, nobody knows before."""
        return self.known or self.sick is None or self.sick.seen != "open"

    def hands_in_for(self, step: Any, job: Job) -> None:
        """Raise Harm when the step is done by hand in the open unit, and that must not be."""
        if step.step.by_hand:
            self._hand(job)

    def hands_in_by(self, kind: str, data: dict[str, Any], job: Job) -> None:
        """Raise Harm when work is done by hand in the open unit, and that must not be."""
        if kind in ("work_done", "part_fitted") and not data.get("from_outside"):
            self._hand(job)

    def _hand(self, job: Job) -> None:
        if self.there and self.sick and self.sick.before == "hands" and job.cover == "off":
            raise Harm(f"{self._unit.name}: a hand went in.")
