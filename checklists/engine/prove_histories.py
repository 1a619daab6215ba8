"""Proves, over every sequence of events, that no exposure is met while a hazard that meets it is up.

Induction over events. A hazard that an event raises is up, for the event ends each step that clears
it (`raised`); what clears it is on the list (`listed`); each exposure asks for it (`asked`); and
what comes up while an exposure lasts takes mains off (`falls`). The first, third and fourth are
enumerated on the engine itself, over every event that the pack can tell apart and with all other
steps signed; the second is asked of the solver, over every unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from checklists.engine import exposures, validity
from checklists.engine.doing import State
from checklists.engine.every_event import every_event
from checklists.engine.happenings import STARTS_AT, Happening
from checklists.engine.hazards import Hazard
from checklists.engine.history import DOUBTED, SIGNED, Event, History
from checklists.engine.pack import Pack
from checklists.engine.prove import Proof, Prover, Verdict
from checklists.engine.roles import StepRole
from checklists.engine.walking import Walked, told
from checklists.engine.words import FULL, HAND_BACK, HANDS, LIMITED, LIVE, UNATTENDED

# Events that change the state by themselves, and are refused while mains is on.
_OF_STATE = frozenset(
    {"power_applied", "power_removed", "cover_removed", "cover_fitted", "soak_started", DOUBTED}
)
_OPEN = frozenset({HANDS, LIVE})
_STATE_OF = {
    LIMITED: State(LIMITED),
    FULL: State(FULL),
    LIVE: State(LIMITED, "off"),
    UNATTENDED: State(FULL),
}


class HistoryProver:
    """Checks one pack, hazard by hazard."""

    def __init__(self, pack: Pack, prover: Prover | None = None) -> None:
        self.pack = pack
        self.prover = prover or Prover(pack)
        self.raisers: dict[str, list[Happening]] = {hazard.key: [] for hazard in pack.hazards}
        for event in every_event(pack):
            for key in pack.raised_by(told(event, 1)):
                self.raisers[key].append(event)

    def check(self) -> Iterator[Proof]:
        """Yield a proof for each hazard and each part of the induction."""
        for hazard in self.pack.hazards:
            yield self.raised(hazard)
            yield from self.listed(hazard)
            yield self.asked(hazard)
            if hazard.meets_failed:
                yield self.asked_when_failed(hazard)
            yield self.falls(hazard)

    def raised(self, hazard: Hazard) -> Proof:
        """Prove that every event that raises it ends every step that clears it."""
        says = f"What raises {hazard.key} ends each step that clears it."
        for event in self.raisers[hazard.key]:
            for key in (*hazard.cleared_by, *hazard.also):
                if self._outlives(key, event):
                    witness = [Happening(kind=SIGNED, step=key, result="pass"), event]
                    return _refuted(f"raised/{hazard.key}", says, f"{key} outlives it", witness)
        return _proved(f"raised/{hazard.key}", says)

    def _outlives(self, key: str, event: Happening) -> bool:
        signed = Event(sequence=1, event_type=SIGNED, step=key, result="pass", content_hash="x")
        history = History.of([signed, told(event, 2)])
        return validity.of(self.pack.steps[key], "x", history).stands

    def listed(self, hazard: Hazard) -> Iterator[Proof]:
        """Prove that a unit that may have it on arrival has the clearing steps by its rules."""
        for key in hazard.listed_steps if hazard.on_arrival else ():
            name = f"listed/{hazard.key}/{key}"
            says = f"Where {hazard.key} is possible, rules put {key} on the list as a hold."
            if not (self.pack.steps[key].hold and self.pack.steps[key].gate):
                yield _refuted(name, says, f"{key} holds no gate", [])
                continue
            model = self.prover.model
            possible, listed = model.possible(hazard), model.listed_by_rules(key)
            yield self.prover.follows(name, says, possible, listed)

    def asked(self, hazard: Hazard) -> Proof:
        """Prove that each exposure that it meets asks for each step that clears it."""
        name, says = f"asked/{hazard.key}", f"Each exposure that {hazard.key} meets asks for it."
        for event in self._ways_up(hazard):
            unit = _unit(self.pack, event)
            for keys in _each_needed(hazard):
                for exposure in _asking(hazard, raised=event is not None):
                    unit.put(State(cover="off" if exposure in _OPEN else "on"))
                    _sign_all_but(unit, keys)
                    asked = {h.step.key for h in exposures.against(exposure, unit.checklist)}
                    if asked.isdisjoint(keys):
                        witness = [event] if event else []
                        return _refuted(
                            name, says, f"{exposure} does not ask for {keys[0]}", witness
                        )
        return _proved(name, says)

    def asked_when_failed(self, hazard: Hazard) -> Proof:
        """Prove that a failed step that clears it is asked for where only a fail is met."""
        name = f"asked-when-failed/{hazard.key}"
        says = (
            f"Once what clears {hazard.key} has failed, {_listed(hazard.meets_failed)} ask for it."
        )
        for key in hazard.cleared_by:
            failed = Happening(kind=SIGNED, step=key, result="fail")
            unit = _unit(self.pack, None)
            _sign_all_but(unit, (key,))
            unit.write(failed)
            for exposure in sorted(hazard.meets_failed):
                if key not in {h.step.key for h in exposures.against(exposure, unit.checklist)}:
                    return _refuted(name, says, f"{exposure} does not ask for {key}", [failed])
        return _proved(name, says)

    def falls(self, hazard: Hazard) -> Proof:
        """Prove that mains falls when it comes up while an exposure lasts."""
        name, says = f"falls/{hazard.key}", f"Mains falls when {hazard.key} comes up under it."
        for event in self._ways_up(hazard):
            if event is None or event.kind in _OF_STATE:
                continue
            for exposure in _lasting(hazard):
                unit = self._running(exposure)
                unit.write(event)
                if not unit.met():
                    return _refuted(name, says, f"it may stay up under {exposure}", [event])
        return _proved(name, says)

    def _ways_up(self, hazard: Hazard) -> list[Happening | None]:
        """Return one event for each line of `raised_by`, and none when it is up on arrival."""
        ways: list[Happening | None] = [None] if hazard.on_arrival else []
        for trigger in hazard.raised_by:
            fitting = (e for e in self.raisers[hazard.key] if trigger.applies_to(told(e, 1)))
            ways += [event for event in [next(fitting, None)] if event is not None]
        return ways

    def _running(self, exposure: str) -> Walked:
        unit = _unit(self.pack, None)
        unit.put(_STATE_OF[exposure])
        if exposure == UNATTENDED:
            unit.write(Happening(kind="soak_started", at=STARTS_AT))
        _sign_all_but(unit, ())
        return unit


def _unit(pack: Pack, event: Happening | None) -> Walked:
    """Return a unit of which nothing is known but one event."""
    unit = Walked(pack, {}, blank=True)
    if event is not None:
        unit.write(event)
    return unit


def _each_needed(hazard: Hazard) -> list[tuple[str, ...]]:
    """Return what has to be missing so that it is up: any of its steps, or all where one is enough."""
    return [hazard.cleared_by] if hazard.any_clears else [(key,) for key in hazard.cleared_by]


def _sign_all_but(unit: Walked, keys: Iterable[str]) -> None:
    """Have every check of the list stand but these, whatever the state."""
    unit.unsign(keys)
    spared = {*keys, unit.pack.step_with_role(StepRole.MADE_UNUSABLE).key}
    while due := [s for s in unit.checklist.steps if not s.stands and s.key not in spared]:
        unit.sign(due, STARTS_AT)


def _asking(hazard: Hazard, *, raised: bool) -> Iterable[str]:
    """What nobody raised goes back to the customer as it came."""
    return sorted(hazard.meets if raised else hazard.meets - {HAND_BACK})


def _listed(exposed: Iterable[str]) -> str:
    return " and ".join(sorted(exposed))


def _lasting(hazard: Hazard) -> Iterable[str]:
    """Return the exposures that last in which it hurts; paper alone stops no soak."""
    met = hazard.meets & _STATE_OF.keys()
    return sorted(met - {UNATTENDED} if hazard.follows_record else met)


def _proved(name: str, says: str) -> Proof:
    return Proof(id=name, verdict=Verdict.PROVED, says=says)


def _refuted(name: str, says: str, why: str, events: Iterable[Happening]) -> Proof:
    proof = Proof(id=name, verdict=Verdict.REFUTED, says=says, why=why, facts={})
    return replace(proof, events=tuple(event.raw() for event in events))
