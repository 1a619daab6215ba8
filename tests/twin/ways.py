"""Random ways to choose a move, each honest in what it tells."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.twin.moves import Move
from tests.twin.shop_door import View
from tests.twin.units import TOUCHABLE_VOLTS

if TYPE_CHECKING:
    from tests.twin.hands import Hands

# Each a way to choose a move, with how often it is tried.
RANDOM_MOVES = {
    "any_step": 26,
    "any_work": 9,
    "outside_work": 3,
    "board_work": 3,
    "quiet_work": 3,
    "tell_quiet_work": 4,
    "work_before": 1,
    "any_finding": 8,
    "mistaken_finding": 1,
    "take_back": 2,
    "any_fact": 6,
    "any_part": 5,
    "any_power": 9,
    "plug_out": 5,
    "any_cover": 7,
    "any_stage": 6,
    "any_soak": 4,
    "any_trial": 2,
    "any_word": 2,
    "any_waiver": 1,
    "second_job": 1,
    "wait": 4,
}
WORDS, WEIGHTS = list(RANDOM_MOVES), list(RANDOM_MOVES.values())
WORKS = [
    "board-removed",
    "output-devices-replaced",
    "bias-parts-replaced",
    "joints-reflowed",
    "relay-cleaned",
    "electrolytics-replaced",
    "fuse-replaced",
    "controls-cleaned",
    "valves-replaced",
    "mains-wiring-changed",
    "thermal-interface-renewed",
    "suppression-capacitor-replaced",
]
_VALVE_WORK = ("valves-replaced",)


class Ways:
    """The ways of `RANDOM_MOVES`; each returns a move, or None when it cannot be."""

    def any_step(self: Hands, view: View) -> Move | None:
        due = [s for s in view.steps if not s.stands and (s.hold or self.rng.random() < 0.1)]
        steps = due or list(view.steps)
        return self.sign(self.rng.choice(steps), view) if steps else None

    def any_work(self: Hands, view: View) -> Move:
        """Work that is called for or not, in whatever state the unit is."""
        likely = self.cures() if self.rng.random() < 0.5 else []
        works = [w for w in WORKS if self.unit.valves or w not in _VALVE_WORK]
        return self.record("work_done", work=self.rng.choice(likely or works))

    def outside_work(self: Hands, view: View) -> Move | None:
        works = self.from_outside()
        if view.power != "isolated" or not works:
            return None
        work = self.rng.choice(works)
        return self.record("work_done", "work from outside", work=work, from_outside=True)

    def from_outside(self: Hands) -> list[str]:
        """Work that can be done on this unit without opening it."""
        kind = self.unit.kind
        ways = {"fuse-replaced": kind.fuse_outside, "belt-replaced": kind.belt_outside}
        return [work for work, true in ways.items() if true]

    def board_work(self: Hands, view: View) -> Move | None:
        """Take a board out while that is safe; work on it then, wherever the unit is."""
        self.board_out = self.board_out or (self._safe_inside() and self.rng.random() < 0.5)
        if not self.board_out or view.power != "isolated":
            return None
        return self.record("work_done", "work board out", work="joints-reflowed", board_out=True)

    def quiet_work(self: Hands, view: View) -> None:
        """Do something safely and forget to say so."""
        if self._safe_inside():
            work = self.rng.choice(("relay-cleaned", "controls-cleaned"))
            self.quiet.append((work, self.clock.isoformat(), self.unit.trials))

    def tell_quiet_work(self: Hands, view: View) -> Move | None:
        if not self.quiet or view.closed:
            return None
        work, when, _ = self.quiet[0]
        late = {"late": "forgotten", "done_at": when}
        return self.record("work_done", "work told late", work=work, **late)

    def _safe_inside(self: Hands) -> bool:
        unit = self.unit
        dead = unit.proved_dead and unit.highest_volts <= TOUCHABLE_VOLTS
        return unit.cover == "off" and unit.power == "isolated" and dead

    def work_before(self: Hands, view: View) -> Move | None:
        if self.told_before:
            return None
        return self.record("work_done", "work before", work="relay-replaced", before=True)

    def any_finding(self: Hands, view: View) -> Move | None:
        untold = self.untold()
        return self.tell(self.rng.choice(untold)) if untold else None

    def mistaken_finding(self: Hands, view: View) -> Move:
        return self.record("finding_recorded", "mistaken", finding="dust-heavy")

    def take_back(self: Hands, view: View) -> Move | None:
        if not self.mistaken:
            return None
        return self.record("entry_withdrawn", row=self.mistaken[-1], reason="seen wrongly")

    def any_fact(self: Hands, view: View) -> Move | None:
        """Mostly a fact that the shop asks for; as it truly is."""
        facts = [name for name in self.unit.kind.facts if name in view.missing_facts]
        name = self.rng.choice(facts or list(self.unit.kind.facts))
        if name == "intake.damage":
            move = self.record("fact_recorded", name=name, value=self.damage_words())
            move.tells = self.damage()
            return move
        return self.record("fact_recorded", name=name, value=self.unit.kind.facts[name])

    def any_part(self: Hands, view: View) -> Move | None:
        if view.unfitted and self.rng.random() < 0.6:
            return self.record("part_fitted", need=self.rng.choice(view.unfitted))
        if view.outstanding:
            return self.record("part_arrived", need=self.rng.choice(view.outstanding))
        return self.record("part_needed", spec="relay 24 V", required=False)

    def any_power(self: Hands, view: View) -> Move:
        return self.power(self.rng.choice(("limited", "limited", "full")))

    def plug_out(self: Hands, view: View) -> Move:
        return self.power("isolated")

    def any_cover(self: Hands, view: View) -> Move:
        return self.cover("off" if self.unit.cover == "on" else "on")

    def any_stage(self: Hands, view: View) -> Move:
        leaving = self.rng.random() < 0.3
        ways = "released withdrawn" if leaving else "opened reproducing reassembled soaking"
        return self.stage(self.rng.choice([*ways.split(), "awaiting_parts"]))

    def any_soak(self: Hands, view: View) -> Move | None:
        if view.soak == "running":
            if self.rng.random() < 0.5:
                return self.record("soak_reading", quantity="sink_celsius", value=45, unit="C")
            return self.record("soak_ended", result="pass")
        soaks = view.stage == "soaking" and view.power == "full"
        return self.record("soak_started") if soaks else None

    def any_trial(self: Hands, view: View) -> Move | None:
        if view.power == "isolated":
            return None
        return self.record("trial_run", fault=bool(self.unit.faults), conditions=[])

    def any_word(self: Hands, view: View) -> Move:
        if self.rng.random() < 0.5:
            return self.record("note_added", text="looked again")
        return self.record("reading_taken", quantity="hum", value=1.0, unit="mV")

    def any_waiver(self: Hands, view: View) -> Move | None:
        """The owner waives what may be waived, never with something wrong before the eyes."""
        steps = [s for s in view.steps if s.waivable and not s.stands]
        if not steps or self.unit.faults & (self.seen | self.unit.told):
            return None
        return Move("waive", "waive", {"key": steps[0].key, "reason": "dry and clean outside"})

    def second_job(self: Hands, view: View) -> Move | None:
        if self.unit.serial == "n/a":
            return None  # nobody could know that it is the same unit
        return Move("receive", "second-job", self._plate())

    def wait(self: Hands, view: View) -> None:
        self.minutes += self.rng.choice((30.0, 300.0, 1200.0))
