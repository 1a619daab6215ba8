"""The one seam to the shop: moves go in by `shop.jobs.commands`, a plain view comes out.

It copes with a shop that has no late entries, marks, open arrivals or next act yet: what the
shop does not know is answered with `unknown` and counts neither way.
"""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from shop.jobs import commands, guards, queries
from shop.jobs.commands.signing import NotListed
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, Refused
from tests.twin.moves import Answer, Move


@dataclass(frozen=True)
class Step:
    """A line of the checklist as hands see it."""

    key: str
    gate: str
    hold: bool
    stands: bool
    state: str
    after: tuple[str, ...]
    needs_power: tuple[str, ...]
    needs_cover: str
    waivable: bool
    # (quantity, low, high) of each reading that must be given.
    readings: tuple[tuple[str, float | None, float | None], ...]
    answers: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class View:
    """What the page of one job shows."""

    number: int
    stage: str
    power: str
    cover: str
    unplug_due: bool
    closed: bool
    steps: tuple[Step, ...]
    soak: str
    outstanding: tuple[int, ...]
    unfitted: tuple[int, ...]
    clean_trials: int
    missing_facts: tuple[str, ...]

    def gate(self, *names: str) -> list[Step]:
        """Hold steps of these gates that do not stand."""
        return [s for s in self.steps if s.hold and not s.stands and s.gate in names]

    def by_key(self, key: str) -> Step | None:
        return next((s for s in self.steps if s.key == key), None)


def arrives_open() -> bool:
    """Whether the shop can take in a unit that came without its cover."""
    return "arrived_open" in inspect.signature(commands.receive).parameters


class Door:
    """The commands of the shop, with two people and the last view of each job kept."""

    def __init__(self, technician: User, owner: User) -> None:
        self.technician, self.owner = technician, owner
        self._views: dict[int, View] = {}
        self._sheets: dict[tuple[int, datetime], queries.Traveller] = {}
        self._tells_the_next_act = hasattr(queries.Traveller, "next_act")

    def do(self, move: Move, at: datetime) -> Answer:
        """Try a move. Nothing is kept of what is refused."""
        try:
            done = getattr(self, f"_{move.verb}")(move, at)
        except Refused as refused:
            codes = tuple(sorted({r.step or r.code for r in refused.refusals}))
            return Answer("refused", codes, str(refused))
        except (BadInput, NotListed, TypeError) as error:
            return Answer(_unless_ours(error), (type(error).__name__,), str(error))
        self._views.clear()
        self._sheets.clear()
        number, row = getattr(done, "number", move.number), getattr(done, "sequence", 0)
        return Answer("accepted", number=number, row=row)

    def view(self, number: int) -> View:
        """Return what the page of the job shows now."""
        if number not in self._views:
            self._views[number] = _view(self._sheet(number))
        return self._views[number]

    def _sheet(self, number: int) -> queries.Traveller:
        """Read a job; nothing changes it between two accepted moves but the clock."""
        key = number, timezone.now()
        if key not in self._sheets:
            self._sheets[key] = queries.Traveller.of(queries.job(*key))
        return self._sheets[key]

    def can_be_done(self, number: int, key: str) -> bool:
        """Whether the page says that a step can be done now; who looks at it does not do others."""
        sheet = self._sheet(number)
        listed = sheet.checklist.by_key.get(key)
        return listed is not None and not guards.against_signing(
            sheet.job, sheet.checklist, listed, "pass"
        )

    def next_act(self, number: int) -> dict[str, Any] | None:
        """Return the next act as the shop tells it, flat; None while it tells none."""
        if not self._tells_the_next_act:
            return None
        return self._sheet(number).next_act(timezone.now()).as_dict()

    def _receive(self, move: Move, at: datetime) -> Job:
        return commands.receive(by=self.technician, at=at, **move.data)

    def _record(self, move: Move, at: datetime) -> Any:
        kind, data = move.data["event_type"], move.data["data"]
        return commands.record(move.number, kind, data, by=self.technician, at=at)

    def _sign(self, move: Move, at: datetime) -> Any:
        answers = [(one["fact"], one["value"]) for one in move.data.get("answers", ())]
        data = {**move.data, "answers": answers}
        return commands.sign(move.number, by=self.technician, at=at, **data)

    def _waive(self, move: Move, at: datetime) -> Any:
        return commands.waive(move.number, by=self.owner, at=at, **move.data)

    def _power(self, move: Move, at: datetime) -> Any:
        return commands.set_power(move.number, move.data["to"], by=self.technician, at=at)

    def _cover(self, move: Move, at: datetime) -> Any:
        return commands.set_cover(move.number, move.data["to"], by=self.technician, at=at)

    def _stage(self, move: Move, at: datetime) -> Any:
        return commands.set_stage(move.number, move.data["to"], by=self.technician, at=at)


def _unless_ours(error: Exception) -> str:
    if isinstance(error, TypeError) and "unexpected keyword" not in str(error):
        raise error
    return "unknown"


def _view(sheet: queries.Traveller) -> View:
    job, record, checklist = sheet.job, sheet.record, sheet.checklist
    return View(
        number=job.number,
        stage=str(job.stage),
        power=str(job.power),
        cover=str(job.cover),
        unplug_due=job.unplug_due,
        closed=job.closed,
        steps=tuple(_step(listed) for listed in checklist.steps),
        soak=record.soak,
        outstanding=tuple(need.sequence for need in record.outstanding),
        unfitted=tuple(n.sequence for n in record.needs if not n.fitted and not n.outstanding),
        clean_trials=record.clean_trials_run,
        missing_facts=tuple(checklist.missing_facts),
    )


def _step(listed: Any) -> Step:
    step = listed.step
    return Step(
        key=listed.key,
        gate=listed.gate or "",
        hold=step.hold,
        stands=listed.stands,
        state=listed.state,
        after=(*step.after, *getattr(step, "needs_steps", ())),
        needs_power=tuple(step.needs_power),
        needs_cover=str(getattr(step, "needs_cover", "") or ""),
        waivable="owner" in step.waivable_by,
        readings=tuple((r.quantity, r.low, r.high) for r in listed.readings if r.required),
        answers=tuple(_answer(one) for one in getattr(listed, "answers", None) or ()),
    )


def _answer(one: Any) -> tuple[str, tuple[str, ...]]:
    fact = one if isinstance(one, str) else getattr(one, "fact", str(one))
    return fact, tuple(getattr(one, "one_of", ()) or ())
