"""In which state of the unit a step can be done, and why not now.

The shop, the replay of a history and the proof all ask here, so that there is one truth.
"""

from __future__ import annotations

from dataclasses import dataclass

from checklists.engine import exposures
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.exposures import Hindrance
from checklists.engine.history import STARTED, WITHDRAWN, WORKED, Event, History
from checklists.engine.words import HANDS, ISOLATED, LIMITED

OVERTAKEN = "The unit was worked on since that soak began; run it again."
UNPLUG = "A permit fell while mains was on. Pull the plug and confirm mains off first."


@dataclass(frozen=True, slots=True)
class State:
    """Power and cover of a unit, as the record has them.

    `treat_as_live`: a hazard came up under mains, and nobody has recorded yet that the plug is out.
    """

    power: str = ISOLATED
    cover: str = "on"
    treat_as_live: bool = False

    @property
    def energised(self) -> bool:
        """Whether mains is on."""
        return self.power != ISOLATED

    @property
    def open(self) -> bool:
        """Whether the cover is off."""
        return self.cover == "off"


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason against an act: a code, a sentence, and the step in the way when there is one."""

    code: str
    sentence: str
    hindrance: Hindrance | None = None


def hold(hindrance: Hindrance) -> Reason:
    """Return the reason that a step does not stand."""
    why = hindrance.step.validity.why or "It does not stand."
    if hindrance.hazard is not None:
        why = f"{hindrance.hazard.hazard.title}. {why}"
    return Reason("hold", why, hindrance)


def against_exposure(exposure: str, checklist: Checklist) -> list[Reason]:
    """Return one reason for each step that has to stand before an exposure begins."""
    return [hold(hindrance) for hindrance in exposures.against(exposure, checklist)]


def unplug(state: State) -> list[Reason]:
    """Return the reason that the plug may be in, when it may."""
    return [Reason("unplug-first", UNPLUG)] if state.treat_as_live else []


def known_live(state: State) -> list[Reason]:
    """Return the reason against saying that the plug may be in: the record says so already."""
    if not (state.energised or state.treat_as_live):
        return []
    sentence = "The record has this unit as live already. Pull the plug, then record it as out."
    return [Reason("live-already", sentence)]


def tried(checklist: Checklist) -> bool:
    """Whether the unit passed what is measured on the limiter, and nothing was done since."""
    measured = [s for s in checklist.gate("full-power") if s.step.needs_power == (LIMITED,)]
    return bool(measured) and all(step.stands for step in measured)


def overtaken(soak: ListedStep, history: History) -> Event | None:
    """Return the first work after the last soak began that ends what it proved; None without one.

    Work that is told late ends nothing when it was done before the soak.
    """
    gone = {event.row for event in history.events if event.event_type == WITHDRAWN}
    began = [e for e in history.others if e.event_type == STARTED and e.sequence not in gone]
    triggers = tuple(t for t in soak.step.invalidated_by if t.event_type in WORKED)
    return history.ends_after(began[-1].sequence, triggers, began[-1]) if began else None


def against_doing(state: State, checklist: Checklist, listed: ListedStep) -> list[Reason]:
    """Return the reasons in the state of the unit against having done a step now."""
    step = listed.step
    reasons = [*_wrong_power(state, listed), *_wrong_cover(state, listed)]
    reasons += _out_of_order(checklist, listed)
    if not reasons and (step.by_hand or (state.open and step.at_the_unit)):
        # A step does not wait for itself, such as a look at what hands must not break.
        reasons += [r for r in against_exposure(HANDS, checklist) if not _is_of(r, listed)]
    return reasons


def _is_of(reason: Reason, listed: ListedStep) -> bool:
    return reason.hindrance is not None and reason.hindrance.step.key == listed.key


def _wrong_power(state: State, listed: ListedStep) -> list[Reason]:
    needed = listed.step.needs_power
    if needed and state.power not in needed:
        words = " or ".join(needed)
        sentence = f"{listed.step.title}: this is done with power {words}; power is {state.power}."
        return [Reason("wrong-power", sentence)]
    return unplug(state) if ISOLATED in needed else []


def _wrong_cover(state: State, listed: ListedStep) -> list[Reason]:
    needed = listed.step.needs_cover
    if not needed or state.cover == needed:
        return []
    sentence = f"{listed.step.title}: this is done with the cover {needed}; it is {state.cover}."
    return [Reason("wrong-cover", sentence)]


def _out_of_order(checklist: Checklist, listed: ListedStep) -> list[Reason]:
    """Reasons in the steps that have to stand before this one is done, where they are listed."""
    before = [checklist.by_key.get(key) for key in listed.step.needs_steps]
    return [hold(Hindrance(step)) for step in before if step is not None and not step.stands]
