"""Random but honest hands: they tell what is true, do what they sign, forget, and try things."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random
from typing import Any

from django.utils import timezone

from tests.twin import doing, flow
from tests.twin.moves import Answer, Move
from tests.twin.shop_door import Door, Step, View, arrives_open
from tests.twin.units import FAULTS, KINDS, TOUCHABLE_VOLTS, Unit
from tests.twin.ways import WEIGHTS, WORDS, Ways

OPENING_TIME = datetime.fromisoformat("2026-03-02T09:00:00+00:00")


class Hands(Ways):
    """One pair of hands with one unit at a time; `follows` is how often they do the next act."""

    def __init__(self, seed: int, door: Door, *, follows: float | None = None) -> None:
        self.rng, self.door = Random(seed), door
        drawn = self.rng.choice((0.4, 0.7, 0.9))
        self.follows = drawn if follows is None else follows
        self.clock, self.count, self.minutes = OPENING_TIME, 0, 0.0
        self.jobs: list[int] = []
        self.unit: Unit | None = None
        self.customer_says = "yes"
        self._new_job()

    def _new_job(self) -> None:
        self.jobs = []
        self.seen: set[str] = set()
        self.quiet: list[tuple[str, str, int]] = []
        self.mistaken: list[int] = []
        self.board_out = self.was_open = self.told_before = False
        self.tries: dict[str, int] = {}
        self.setbacks = self.moves = 0
        self.soaked_from, self.soaked_minutes = self.clock, 0.0
        self.tries_power_first = self.rng.random() < 0.5

    # Choosing

    def choose(self) -> Move | None:
        """Return the next move; None when only time passes."""
        if not self.jobs:
            return self.receive()
        self.moves += 1
        number = self.jobs[-1] if self.rng.random() < 0.8 else self.rng.choice(self.jobs)
        view = self.door.view(number)
        self.seen |= self.unit.visible()
        move = self._one(view)
        if move is not None:
            move.number = view.number
        return move

    def _one(self, view: View) -> Move | None:
        if self.rng.random() < self.follows:
            return flow.follow(self, view)
        for _ in range(20):
            way = self.rng.choices(WORDS, WEIGHTS)[0]
            move = getattr(self, way)(view)
            if move is not None or way in ("wait", "quiet_work"):
                return move
        return None

    def estimate(self) -> Move:
        """The desk sends the customer an estimate."""
        move = self.record("estimate_sent")
        move.number = self.jobs[-1]
        return move

    def leave_it(self) -> None:
        """Set the unit aside for good: the next one is another."""
        self.jobs, self.unit = [], None

    @property
    def gives_up(self) -> bool:
        return self.setbacks > 3 or self.moves > 160

    def pass_time(self) -> None:
        """A few minutes pass between moves, at times hours or a night."""
        usual = self.rng.choice((1.0, 2.0, 3.0, 8.0))
        minutes, self.minutes = self.minutes + usual, 0.0
        before = self.clock
        after = before + timedelta(minutes=minutes)
        if self.unit is not None and self.unit.power == "isolated":
            after = _in_working_hours(after)
            if _night_between(before, after):
                self.unit.clear_bench()
        self.clock = after
        if self.unit is not None:
            self.unit.pass_time((after - before).total_seconds() / 60.0)

    # Moves that several ways share

    def receive(self) -> Move:
        """Take in the unit that comes back, or another one, and tell some of what is seen."""
        if self.unit is None or self.rng.random() < 0.5:
            self.count += 1
            serial = self.rng.choice([f"S{self.count:03}"] * 5 + ["n/a"])
            self.unit = Unit.drawn(self.rng, self.rng.choice(list(KINDS)), serial)
        else:
            self._comes_back()
        self._new_job()
        data: dict[str, Any] = self._plate() | {"facts": self._facts_at_counter()}
        if arrives_open() and self.rng.random() < 0.15:
            data["arrived_open"] = True
        told = self.damage() if "intake.damage" in data["facts"] else frozenset()
        return Move("receive", "receive", data, tells=told)

    def _comes_back(self) -> None:
        unit = self.unit
        unit.used_elsewhere(self.rng)
        unit.cover = "on"
        if unit.serial == "n/a":
            unit.told.clear()
        if self.rng.random() < 0.5:
            unit.faults.add(self.rng.choice(unit.kind.faults))

    def _plate(self) -> dict[str, Any]:
        return {"make": "Test Works", "model": self.unit.name, "serial": self.unit.serial}

    def _facts_at_counter(self) -> dict[str, Any]:
        known = self.rng.choice((0.1, 0.5, 0.9))
        facts = {k: v for k, v in self.unit.kind.facts.items() if self.rng.random() < known}
        # Whoever takes a unit in sees what kind of thing it is.
        facts["unit.kind"] = self.unit.kind.facts["unit.kind"]
        if "intake.damage" in facts:
            facts["intake.damage"] = self.damage_words()
        return facts

    def damage(self) -> frozenset[str]:
        present = self.unit.faults & (self.seen | self.unit.visible())
        return frozenset(f for f in present if FAULTS[f].damage)

    def damage_words(self) -> list[str]:
        return sorted(FAULTS[f].damage for f in self.damage()) or ["none"]

    def power(self, to: str) -> Move:
        return Move("power", to, {"to": to})

    def cover(self, to: str) -> Move:
        return Move("cover", f"cover-{to}", {"to": to})

    def stage(self, to: str) -> Move:
        return Move("stage", "stage", {"to": to})

    def record(self, kind: str, sort: str = "", **data: Any) -> Move:
        return Move("record", sort or kind, {"event_type": kind, "data": data})

    def sign(self, step: Step, view: View, *, told: bool = False) -> Move | None:
        """Do a step and sign it with what was read; None when it cannot be done as things are.

        `told`: the shop says that it is the next; then its usual order is the shop's to keep.
        """
        unit, what = self.unit, doing.doing(step.key, step.needs_power, step.needs_cover)
        standing = {s.key for s in view.steps if s.stands or not s.hold}
        listed = {s.key for s in view.steps}
        if not told and any(key in listed - standing for key in step.after):
            return None
        if not doing.doable(what, unit, view.power, unit.cover):
            return self._cannot_mend_it(step, what) if told else None
        if what.soaked and view.soak != "passed":
            return None
        doing.perform(what, unit)
        readings = [(q, self._read(q, low, high, view)) for q, low, high in step.readings]
        found = doing.found(what, unit)
        fails = bool(found) and not readings
        # A fail tells of something done, and is never refused: who does what cannot be done now
        # is hurt whatever the shop says. Honest hands look at the page first.
        if fails and not self.door.can_be_done(view.number, step.key):
            return None
        data = {"key": step.key, "result": "fail" if fails else "pass", "readings": readings}
        if step.answers:
            data["answers"] = [self._answer(*one) for one in step.answers]
        sort = "sign while the plug is due" if view.unplug_due else "sign"
        return Move("sign", sort, data, doing=what, tells=frozenset(found))

    def _cannot_mend_it(self, step: Step, what: doing.Doing) -> Move | None:
        """Say that it failed: what is wrong there cannot be mended on the closed unit."""
        wrong = doing.out_of_reach(what, self.unit) if self.unit.cover == "on" else set()
        if not wrong:
            return None
        data = {"key": step.key, "result": "fail"}
        return Move("sign", "sign", data, doing=doing.LOOK, tells=frozenset(wrong))

    def _read(self, quantity: str, low: float | None, high: float | None, view: View) -> float:
        value = doing.read(quantity, self.unit)
        if value is not None:
            return value
        if quantity in ("clean_trials", "trials"):
            return float(view.clean_trials)
        if quantity == "soak_hours":
            return self.soaked_minutes / 60.0
        if low is not None and high is not None:
            return (low + high) / 2
        return low + abs(low) * 0.1 if low is not None else (high or 2.0) / 2

    def _answer(self, fact: str, words: tuple[str, ...]) -> dict[str, Any]:
        if fact == "intake.damage":
            return {"fact": fact, "value": self.damage_words()}
        return {"fact": fact, "value": self.unit.kind.facts.get(fact, words[0] if words else False)}

    def untold(self) -> list[str]:
        """Faults that were seen, are still there, and have a word that was not told."""
        there = self.seen & self.unit.faults - self.unit.told
        return sorted(f for f in there if FAULTS[f].finding or FAULTS[f].damage)

    def tell(self, fault: str) -> Move:
        """Say that a fault was seen, as a finding or as damage."""
        known = FAULTS[fault]
        if known.finding:
            move = self.record("finding_recorded", finding=known.finding)
            move.tells = frozenset({fault})
            return move
        move = self.record("fact_recorded", name="intake.damage", value=self.damage_words())
        move.tells = self.damage()
        return move

    def cures(self) -> list[str]:
        """Work that cures what is known to be wrong."""
        known = self.unit.faults & (self.seen | self.unit.told)
        return sorted({work for fault in known for work in FAULTS[fault].cures})

    # What follows

    def after(self, move: Move, answer: Answer) -> None:
        """Let an accepted move take place on the unit, and remember it."""
        unit = self.unit
        unit.told |= move.tells
        if move.verb in ("power", "cover"):
            self.tries.clear()
        if move.verb == "receive":
            self.jobs.append(answer.number)
            unit.cover = "off" if move.data.get("arrived_open") else unit.cover
        elif move.verb == "power":
            to = move.data["to"]
            unit.plug_out() if to == "isolated" else unit.mains_on(to)
        elif move.verb == "cover":
            self._after_cover(move.data["to"])
        elif move.verb == "sign":
            self.minutes += doing.mend(move.doing, unit)
            if move.doing.probe and unit.highest_volts > TOUCHABLE_VOLTS / 2:
                unit.discharge()  # whoever reads that much does not leave it there
        elif move.verb == "record":
            self._after_record(move, answer)
        elif move.verb == "stage":
            self._after_stage(move.data["to"])

    def _after_cover(self, to: str) -> None:
        if to == "off":
            self.unit.open()
            self.was_open = True
        elif self.unit.cover == "off":
            self.unit.close(self.rng)
            self.board_out = False

    def _after_record(self, move: Move, answer: Answer) -> None:
        kind, data = move.data["event_type"], move.data["data"]
        if data.get("late"):
            _, _, trials = self.quiet.pop(0)
            self.unit.untried |= trials == self.unit.trials
        elif data.get("before"):
            self.told_before = True
        elif kind == "work_done":
            outside = bool(data.get("from_outside"))
            self.unit.worked_on(data["work"], self.rng, outside=outside)
        elif kind == "part_fitted":
            self.unit.untried = True
        elif kind == "soak_started":
            self.soaked_from = self.clock
        elif kind == "soak_ended":
            self.soaked_minutes = (self.clock - self.soaked_from).total_seconds() / 60.0
        elif move.sort == "mistaken":
            self.mistaken.append(answer.row)
        elif kind == "entry_withdrawn":
            self.mistaken.pop()
        self.minutes += 20 if kind in ("work_done", "part_fitted") else 0

    def _after_stage(self, to: str) -> None:
        if to in ("awaiting_parts", "released", "withdrawn"):
            self.unit.clear_bench()
        if to in ("released", "withdrawn"):
            self.jobs.clear()
            self.minutes += self.rng.choice((60.0, 4000.0, 40_000.0))


def _in_working_hours(moment: datetime) -> datetime:
    """Return the moment, or eight in the morning when hands have gone home."""
    local = timezone.localtime(moment)
    if local.hour >= 22:
        return (local + timedelta(days=1)).replace(hour=8)
    return local.replace(hour=8) if local.hour < 7 else moment


def _night_between(before: datetime, after: datetime) -> bool:
    """Whether four in the morning, when a shop's day ends, lies between."""
    shift = timedelta(hours=4)
    days = [(timezone.localtime(moment) - shift).date() for moment in (before, after)]
    return days[0] != days[1]
