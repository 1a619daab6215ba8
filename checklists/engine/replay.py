"""Walks a history of one unit: what is up after each event, and what is refused.

Pure: a pack, facts and events. What a stage asks for by itself, estimates and parts are the
shop's. A hazard that comes up under mains takes mains off on the record; the unit counts as live
until `power_removed` says that the plug is out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from checklists.engine import acts, doing, happenings
from checklists.engine.checklist import ListedStep
from checklists.engine.doing import Reason
from checklists.engine.happenings import SIGN_ALL, Happening
from checklists.engine.history import DOUBTED, WITHDRAWABLE, WORKED, History
from checklists.engine.honest import NOBODY, Honest
from checklists.engine.pack import Pack
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.vocabulary import Facts
from checklists.engine.walking import Walked

_ON_CLOSED = frozenset(
    [
        *("power_removed", "cover_fitted", "note_added", "photo_added", "shipped"),
        *("bill_issued", "bill_credited", "bill_paid"),
    ]
)
_CLOSED = Reason("closed", "The unit has left; one that comes back is a new job.")
_NO_SOAK = Reason("no-soak", "No soak is running; start it first.")


@dataclass(frozen=True, slots=True)
class Told:
    """One event: what was refused, what is up after it, and what met mains so that it must go off."""

    event: Happening
    up: tuple[str, ...]
    refused: tuple[Reason, ...] = ()
    unplug: tuple[Reason, ...] = ()
    signed: tuple[str, ...] = ()

    def lines(self) -> list[str]:
        """Say it in sentences."""
        said = [f"{self.event.sentence()}: {'refused' if self.refused else 'accepted'}."]
        said += [f"  Refused: {in_words(reason)}" for reason in self.refused]
        if self.event.kind == SIGN_ALL:
            said.append(f"  Signed: {', '.join(self.signed) or 'nothing'}.")
        said += [f"  Pull the plug: {in_words(reason)}" for reason in self.unplug]
        return [*said, f"  Up: {'; '.join(self.up) or 'nothing'}."]


def in_words(reason: Reason) -> str:
    """Return a reason with the step that it speaks of."""
    if reason.hindrance is None:
        return reason.sentence
    return f"{reason.hindrance.step.step.title}: {reason.sentence}"


def replay(pack: Pack, history: object, honest: Honest = NOBODY) -> list[Told]:
    """Return what each event of `{facts, events}` leads to; HistoryError when it cannot be read.

    A refused event leaves all as it was, and the walk goes on.
    """
    facts, events = happenings.read(history)
    walk = Walk(pack, facts, honest)
    return [walk.take(event, number) for number, event in enumerate(events, 1)]


class Walk:
    """Takes the events of one unit, one after the other."""

    def __init__(self, pack: Pack, facts: Facts, honest: Honest = NOBODY) -> None:
        self.unit = Walked.begin(pack, facts)
        self.honest = honest

    def copy(self) -> Walk:
        """Return a second unit that has come the same way."""
        other = Walk(self.unit.pack, {}, self.honest)
        other.unit = self.unit.copy()
        return other

    def take(self, event: Happening, number: int = 0) -> Told:
        """Let an event take place, or say what is in its way."""
        refused: list[Reason] = []
        signed: list[str] = []
        if event.kind == SIGN_ALL:
            signed = self._sign_all(event)
        else:
            refused = self.against(event)
            if not refused:
                self.unit.write(event, number)
        fallen = [doing.hold(hindrance) for hindrance in self.unit.met()]
        if fallen:
            self.unit.fall()
        up = tuple(one.hazard.title for one in self.unit.checklist.up)
        return Told(event, up, tuple(refused), tuple(fallen), tuple(signed))

    # What is in the way of an event.

    def against(self, event: Happening) -> list[Reason]:
        """Return the reasons against an event in the present state."""
        if self.unit.closed and event.kind not in _ON_CLOSED:
            return [_CLOSED]
        guard = _GUARDS.get(event.kind)
        return guard(self, event) if guard else []

    def power(self, event: Happening) -> list[Reason]:
        """Against mains."""
        return acts.against_power(self.unit.state, self.unit.checklist, event.power)

    def cover_off(self, event: Happening) -> list[Reason]:
        """Against the cover coming off."""
        return acts.against_cover_off(self.unit.state, self.unit.checklist)

    def cover_on(self, event: Happening) -> list[Reason]:
        """Against the cover going on."""
        return acts.against_cover_on(self.unit.state)

    def work(self, event: Happening) -> list[Reason]:
        """Against work or fitting. What was done already is told at any time."""
        if event.late and event.done_at and event.at and event.done_at > event.at:
            return [Reason("bad", "done_at lies ahead of now.")]
        work = acts.Work(
            kind=event.work,
            done_already=bool(event.late or event.before),
            from_outside=event.from_outside,
            board_out=event.board_out,
        )
        return acts.against_work(self.unit.state, self.unit.checklist, work)

    def signing(self, event: Happening) -> list[Reason]:
        """Against signing a step; a fail is never refused for the state of the unit."""
        listed = self.unit.checklist.by_key.get(event.step)
        if listed is None:
            return [Reason("not-listed", f"{event.step} is not on the list of this unit.")]
        if event.result == "not-applicable" and not listed.step.not_applicable:
            sentence = f"{listed.step.title}: this step cannot be marked not applicable."
            return [Reason("must-be-done", sentence)]
        return self._doing(listed) if event.result == "pass" else []

    def waiving(self, event: Happening) -> list[Reason]:
        """Against waiving a step; the replay takes whoever asks for the owner."""
        listed = self.unit.checklist.by_key.get(event.step)
        if listed is None or not listed.step.waivable_by:
            return [Reason("no-waiver", f"{event.step}: nobody can waive this step.")]
        rests_on = self.unit.rows.get(event.look, 0)
        return acts.against_waiver(listed, History.of(self.unit.events), rests_on)

    def stage(self, event: Happening) -> list[Reason]:
        """Against a stage, as far as hands and mains are concerned."""
        if event.to == "awaiting_parts":
            return acts.against_shelf(self.unit.state)
        return acts.against_reassembled(self.unit.state) if event.to == "reassembled" else []

    def soak(self, event: Happening) -> list[Reason]:
        """Against starting a soak."""
        if self.unit.soak.state == "running":
            return [Reason("soak-running", "The soak is running already.")]
        return acts.against_soak(self.unit.state, self.unit.checklist)

    def in_soak(self, event: Happening) -> list[Reason]:
        """Against what belongs to a soak that runs."""
        return [] if self.unit.soak.state == "running" else [_NO_SOAK]

    def release(self, event: Happening) -> list[Reason]:
        """Against leaving as repaired."""
        soak = self.unit.soak.state
        reasons = acts.against_release(self.unit.state, self.unit.checklist)
        if soak not in ("none", "passed"):
            reasons.append(Reason("soak-not-passed", f"The soak has not passed: {soak}."))
        return reasons

    def hand_back(self, event: Happening) -> list[Reason]:
        """Against leaving unrepaired."""
        return acts.against_hand_back(self.unit.state, self.unit.checklist)

    def doubting(self, event: Happening) -> list[Reason]:
        """Against saying that the plug may be in."""
        return doing.known_live(self.unit.state)

    def withdrawing(self, event: Happening) -> list[Reason]:
        """Against withdrawing a row."""
        place = self.unit.rows.get(event.row)
        if place is None:
            return [Reason("no-row", f"Row {event.row} is no single event before this one.")]
        kind = self.unit.happened[place - 1].kind
        if kind not in WITHDRAWABLE:
            words = kind.replace("_", " ")
            return [Reason("not-withdrawable", f"Row {event.row} ({words}) cannot be withdrawn.")]
        return doing.unplug(self.unit.state)

    # Signing for honest hands.

    def _sign_all(self, event: Happening) -> list[str]:
        """Sign what can be done, round after round, because one step may wait for another."""
        signed: list[str] = []
        while steps := [step for step in self.unit.checklist.steps if self._signs(step, event)]:
            self.unit.sign(steps, event.at or self.unit.at)
            signed += [step.key for step in steps]
        return signed

    def _signs(self, listed: ListedStep, event: Happening) -> bool:
        if listed.stands or listed.key in event.but or self.unit.closed:
            return False
        # Cutting the plug off is a decision, not a check.
        if listed.step.role is StepRole.MADE_UNUSABLE or self._doing(listed):
            return False
        if listed.step.role is StepRole.CLEAN_TRIALS and not self._tried():
            return False
        return not self.honest.cannot_sign(listed.key, self.unit.given, self.unit.valid())

    def _tried(self) -> bool:
        """Whether the unit was tried since it was last repaired."""
        kinds = [e.kind for e in self.unit.valid() if e.kind in ("trial_run", *WORKED)]
        return kinds[-1:] == ["trial_run"]

    def _doing(self, listed: ListedStep) -> list[Reason]:
        reasons = doing.against_doing(self.unit.state, self.unit.checklist, listed)
        return reasons + (self._unsoaked(listed) if listed.step.role is StepRole.SOAK else [])

    def _unsoaked(self, listed: ListedStep) -> list[Reason]:
        soak = self.unit.soak
        if soak.state != "passed":
            return [Reason("no-soak", f"No soak has passed on record ({soak.state}).")]
        if doing.overtaken(listed, History.of(self.unit.events)):
            return [Reason("soak-overtaken", doing.OVERTAKEN)]
        asked = listed.reading_with_role(ReadingRole.HOURS)
        if asked.admits(soak.hours):
            return []
        return [
            Reason("not-on-record", f"The soak ran {soak.hours:.2g} h; asked is {asked.range}.")
        ]


_GUARDS: dict[str, Callable[[Walk, Happening], list[Reason]]] = {
    "power_applied": Walk.power,
    "cover_removed": Walk.cover_off,
    "cover_fitted": Walk.cover_on,
    "work_done": Walk.work,
    "part_fitted": Walk.work,
    "step_signed": Walk.signing,
    "step_waived": Walk.waiving,
    "stage_changed": Walk.stage,
    "soak_started": Walk.soak,
    "soak_reading": Walk.in_soak,
    "soak_ended": Walk.in_soak,
    "released": Walk.release,
    "withdrawn": Walk.hand_back,
    "entry_withdrawn": Walk.withdrawing,
    DOUBTED: Walk.doubting,
}
