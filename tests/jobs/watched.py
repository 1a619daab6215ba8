"""Hands on the commands whose every act is held against the book before it is written into it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from checklists.engine.checklist import Checklist, ListedStep
from shop.jobs.models import Job
from tests.jobs import book
from tests.jobs.book import OUTSIDE, UNDER_MAINS, Book
from tests.jobs.steady import SteadyBench

# In which raised_by and ended_by entries each row counts, and what of its data they read.
_READ = {
    "work_done": ("work", "section", "from_outside"),
    "part_fitted": ("section", "from_outside"),
    "finding_recorded": ("finding", "section"),
}


class Watched(SteadyBench):
    """A technician and the book of one unit."""

    def __init__(self, by: Any) -> None:
        super().__init__(by)
        self.book = Book()

    def checklist(self, number: int) -> Checklist:
        return self.traveller(number).checklist

    def happened(self, number: int, event: str, **detail: Any) -> None:
        self.book.happened(event, self.traveller(number).record.facts, **detail)

    def sign(self, number: int, key: str, result: str = "pass", **more: Any) -> Any:
        before, checklist = self.job(number), self.checklist(number)
        step = checklist.by_key.get(key)
        signed = super().sign(number, key, result, **more)
        if result == "pass":
            self._could_be_done(before, checklist, key)
        self._follow_answers(number, before.head)
        # An answer may have changed the limits of the step, or taken it off the list.
        step = self.checklist(number).by_key.get(key)
        if step is not None:
            good = result == "not-applicable" or (result == "pass" and _within(step, more))
            self.book.signed(key, step.content_hash, self._at(number), good=good)
        return signed

    def _follow_answers(self, number: int, since: int) -> None:
        """Tell the book the facts that the step was answered with."""
        rows = self.job(number).ledger.filter(sequence__gt=since, event_type="fact_recorded")
        for row in rows.order_by("sequence"):
            told = {"fact": row.data["name"], "value": row.data["value"]}
            self.happened(number, "fact_recorded", **told)

    def _could_be_done(self, job: Job, checklist: Checklist, key: str) -> None:
        """What its table asks of power, cover and order; and what a hand inside meets."""
        table = book.steps()[key]
        power = table.get("needs_power", [])
        assert not power or job.power in power, f"{key} signed with power {job.power}"
        assert table.get("needs_cover", job.cover) == job.cover, f"{key}, cover {job.cover}"
        assert "isolated" not in power or not job.unplug_due, f"{key} before the plug is out"
        listed = [one for one in table.get("needs_steps", []) if one in checklist.by_key]
        assert all(self.book.stands(one, checklist) for one in listed), f"{key} out of order"
        by_hand = power == ["isolated"] and table.get("needs_cover") == "off"
        # Discharge and dead test are done by probe.
        if by_hand and table.get("gate") != "hands-in":
            assert self.book.up("hands", checklist) == [], f"{key} by a hand that may be hurt"

    def _at(self, number: int) -> datetime:
        return self.job(number).ledger.order_by("sequence").last().at

    def power(self, number: int, to: str) -> Job:
        before, checklist = self.job(number), self.checklist(number)
        after = super().power(number, to)
        if to != "isolated" and before.power != to:
            self._may_have(before, checklist, to)
            self.happened(number, "power_applied", power=to)
        return after

    def _may_have(self, job: Job, checklist: Checklist, to: str) -> None:
        against = self.book.against_mains(to, job.cover, checklist)
        assert against == [], f"mains was granted against {against}"
        assert not job.unplug_due
        if to == "full" and job.power == "isolated":
            assert self.book.stands("limited-idle-current", checklist), "never tried on the limiter"
        assert (job.power, to) != ("full", "limited"), "the limiter went in under mains"

    def cover(self, number: int, to: str) -> Job:
        before, checklist = self.job(number), self.checklist(number)
        after = super().cover(number, to)
        if before.cover != to:
            assert (before.power, before.unplug_due) == ("isolated", False)
            assert to == "on" or self.book.up("cover-off", checklist) == []
            self.happened(number, "cover_removed" if to == "off" else "cover_fitted")
        return after

    def stage(self, number: int, to: str) -> Job:
        before, checklist = self.job(number), self.checklist(number)
        after = super().stage(number, to)
        if before.stage != to:
            self._may_go(before, checklist, to)
            self.happened(number, "stage_changed", stage=to)
        return after

    def _may_go(self, job: Job, checklist: Checklist, to: str) -> None:
        if to == "soaking":
            assert (job.power, job.cover) == ("full", "on")
            assert self.book.up("unattended", checklist) == []
        if to == "released":
            assert (job.power, job.cover, job.unplug_due) == ("isolated", "on", False)
            assert self.book.up("leave", checklist) == []

    def record(self, number: int, kind: str, **data: Any) -> Any:
        before, checklist = self.job(number), self.checklist(number)
        row = super().record(number, kind, **data)
        if kind in ("work_done", "part_fitted"):
            self._may_be_done(before, checklist, data)
        detail = {name: data[name] for name in _READ.get(kind, ()) if name in data}
        if kind == "fact_recorded":
            detail = {"fact": data["name"], "value": data["value"]}
        if "done_at" in data:
            detail["done_at"] = datetime.fromisoformat(data["done_at"])
        self.happened(number, kind, **detail)
        return row

    def _may_be_done(self, job: Job, checklist: Checklist, data: dict[str, Any]) -> None:
        """Work or a part that the shop has taken."""
        if data.get("late") or data.get("before"):
            return
        work = data.get("work", "")
        if data.get("from_outside"):
            assert work in OUTSIDE | {""}, f"{work} from outside"
        if work not in UNDER_MAINS or not data.get("from_outside"):
            assert (job.power, job.unplug_due) == ("isolated", False), f"{work} under mains"
        if not (data.get("from_outside") or data.get("board_out")):
            assert job.cover == "off", f"{work} in a closed unit"
            assert self.book.dead, f"{work} in a unit that may be charged"
            assert self.book.up("hands", checklist) == [], f"{work} by a hand that may be hurt"

    def night(self, number: int) -> None:
        """A night has passed while the unit stood isolated on the bench."""
        self.happened(number, "night_passed")


def _within(step: ListedStep, more: dict[str, Any]) -> bool:
    limits = {one.quantity: one for one in step.readings}
    return all(_passes(limits[name], value) for name, value in more.get("readings", ()))


def _passes(limit: Any, value: float) -> bool:
    size = value if limit.signed else abs(value)
    return (limit.low is None or size >= limit.low) and (limit.high is None or size <= limit.high)


def outside(step: ListedStep | None) -> list[tuple[str, float]]:
    """Readings that no limit admits, where there is a limit; the others are left out."""
    limits = step.readings if step else ()
    wild = [(r.quantity, _wild(r)) for r in limits]
    return [(name, value) for name, value in wild if value is not None]


def _wild(limit: Any) -> float | None:
    if limit.high is not None:
        return limit.high + 1
    return limit.low / 2 if limit.low else None


def yesterday() -> str:
    return (timezone.now() - timedelta(days=1)).isoformat()
