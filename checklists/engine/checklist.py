"""What a derivation gives: the checklist of one unit, its steps, reasons, readings and plans."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from checklists.engine import asking, hazards, validity
from checklists.engine.asking import Ask
from checklists.engine.hazards import Armed
from checklists.engine.history import History
from checklists.engine.listed import ListedAnswer, ListedPlan, ListedReading
from checklists.engine.pack import Card, Pack, Step
from checklists.engine.reasons import Reason
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.vocabulary import Value
from checklists.engine.words import EXPOSURES

if TYPE_CHECKING:
    from checklists.engine.derivation_cache import Listing
    from checklists.engine.exposures import Hindrance
    from checklists.engine.position import Position


@dataclass(frozen=True, slots=True, eq=False)
class ListedStep:
    """One step on one unit's checklist, with why it is here and whether its sign-off is valid.

    Whatever its list says of it is worked out when it is first read.
    """

    step: Step
    listing: Listing
    validity: validity.Validity
    # Whether nothing is left to ask of whoever passes it.
    answered: bool = False

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, ListedStep):
            return NotImplemented
        return self is other or self._content == other._content

    def __hash__(self) -> int:
        return hash(self.step.key)

    @property
    def _content(self) -> tuple[object, ...]:
        resolved = self.listing.resolved(self.step)
        return (self.step, self.gate, self.reasons, resolved, self.validity, self.answers)

    @property
    def gate(self) -> str | None:
        """The gate at which it holds; for some steps another once the unit was opened."""
        return self.listing.gate(self.step)

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Every reason for it."""
        return self.listing.reasons(self.step.key)

    @property
    def readings(self) -> tuple[ListedReading, ...]:
        """Its readings with their limits for this unit."""
        return self.listing.resolved(self.step).readings

    @property
    def plan(self) -> ListedPlan | None:
        """The calculation to run for this unit."""
        return self.listing.resolved(self.step).plan

    @property
    def content_hash(self) -> str:
        """The hash of what is signed for: the text, the limits and the plan."""
        return self.listing.resolved(self.step).content_hash

    @property
    def answers(self) -> tuple[ListedAnswer, ...]:
        """What a pass has to tell; what is recorded already is not asked again."""
        return () if self.answered else self.listing.answers(self.step)

    @property
    def key(self) -> str:
        """The step's key."""
        return self.step.key

    @property
    def state(self) -> str:
        """One of due, signed, ended, failed, waived, not-applicable."""
        return self.validity.state

    @property
    def stands(self) -> bool:
        """Whether the gate may open as far as this step is concerned."""
        return self.validity.stands

    @property
    def undetermined(self) -> bool:
        """Whether no rule is plainly hit: the step is here because something is not known."""
        return self.listing.is_undetermined(self.step.key)

    @property
    def asks_something(self) -> bool:
        """Whether there is a reading to be taken or a fact to be told."""
        return bool(self.readings or self.answers)

    @property
    def missing(self) -> frozenset[str]:
        """Facts that would settle whether the step stays, or sharpen its limits and plan."""
        wanted = frozenset(self.plan.missing) if self.plan else frozenset()
        if self.undetermined:
            wanted |= frozenset(name for reason in self.reasons for name in reason.missing)
        return wanted

    def reading_with_role(self, role: ReadingRole) -> ListedReading:
        """Return the reading of this role with its limits here; KeyError when none has it."""
        wanted = self.step.reading_with_role(role).quantity
        return {reading.quantity: reading for reading in self.readings}[wanted]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form, as `checklist` prints it and the API sends it."""
        step, caution = self.step, self.step.caution
        return {
            "key": step.key,
            "title": step.title,
            "instruction": step.instruction,
            "gate": self.gate,
            "hold": step.hold,
            "scope": step.scope,
            "needs": {
                "power": list(step.needs_power),
                "cover": step.needs_cover,
                "steps": list(step.needs_steps),
            },
            "phase": step.phase,
            "caution": {"signal_word": caution.signal_word, "text": caution.text}
            if caution
            else None,
            "because": [reason.as_dict() for reason in self.reasons],
            "undetermined": self.undetermined,
            "readings": [reading.as_dict() for reading in self.readings],
            "answers": [answer.as_dict() for answer in self.answers],
            "together": step.together or None,
            "plan": self.plan.as_dict() if self.plan else None,
            "ended_by": list(dict.fromkeys(i.event_type for i in step.invalidated_by)),
            "ended_when": [i.sentence() for i in step.invalidated_by],
            "waivable_by": list(step.waivable_by),
            "instead": step.instead,
            "source": step.source,
            "substance": self.content_hash,
            "state": self.state,
            "why_state": self.validity.why,
        }


@dataclass(frozen=True, slots=True)
class CardView:
    """Steps of one unit that are done in one go; no card for a step that is done by itself."""

    card: Card | None
    steps: tuple[ListedStep, ...]

    @property
    def title(self) -> str:
        """The title of the card, or of its one step."""
        alone = self.card is None or len(self.steps) == 1
        return self.steps[0].step.title if alone or self.card is None else self.card.title

    @property
    def stands(self) -> bool:
        """Whether all of its steps stand."""
        return not self.left

    @property
    def left(self) -> list[ListedStep]:
        """The steps that are still to be signed."""
        return [listed for listed in self.steps if not listed.stands]


@dataclass(frozen=True)
class Checklist:
    """The steps of one unit in order, under one edition of a pack."""

    pack: Pack
    steps: tuple[ListedStep, ...]
    facts: Mapping[str, Value]
    listing: Listing

    @property
    def opened(self) -> bool:
        """Whether the unit has been opened or worked on inside."""
        return self.listing.opened

    @property
    def armed(self) -> tuple[Armed, ...]:
        """The hazards that the unit has, up or cleared."""
        return self.listing.hazards

    @property
    def failed(self) -> frozenset[str]:
        """Steps whose last word is a fail: they stay on the list until they pass."""
        return self.listing.failed

    def revalidate(self, history: History, *, two_people: bool = False) -> Checklist:
        """Return the same steps with their sign-offs judged against this history."""
        signed = history.signoffs
        # Most steps are not signed, and stay the very same: their content need not be known.
        steps = [
            listed
            if listed.validity is validity.NOT_SIGNED and listed.step.key not in signed
            else _judged(listed, history, two_people)
            for listed in self.steps
        ]
        return Checklist(self.pack, tuple(steps), self.facts, self.listing)

    @cached_property
    def standing(self) -> frozenset[str]:
        """The keys of the steps that stand."""
        looked_at = [step for step in self.steps if step.validity is not validity.NOT_SIGNED]
        return frozenset([step.step.key for step in looked_at if step.stands])

    @cached_property
    def position(self) -> Position:
        """What follows from which steps stand; lists that agree in that share it."""
        return self.listing.position(self.standing)

    @property
    def up(self) -> tuple[Armed, ...]:
        """The hazards that are up."""
        return self.position.up

    @cached_property
    def against(self) -> dict[str, tuple[Hindrance, ...]]:
        """What is in the way of each exposure that was asked for: a checklist never changes."""
        return {}

    @cached_property
    def by_key(self) -> dict[str, ListedStep]:
        """The steps by key."""
        return {listed.step.key: listed for listed in self.steps}

    @property
    def keys(self) -> Container[str]:
        """The keys of the steps."""
        return self.by_key.keys()

    def with_role(self, role: StepRole) -> ListedStep | None:
        """Return the step of this role, or None when no rule requires it of this unit."""
        return self.by_key.get(self.pack.step_with_role(role).key)

    def gate(self, name: str) -> list[ListedStep]:
        """Return the hold steps of a gate."""
        listed, holds = self.by_key, self.listing.holds.get(name, ())
        return [listed[key] for key in holds if key in listed]

    @property
    def holds_open(self) -> int:
        """How many hold steps do not stand, at all gates."""
        stands = self.standing
        return len([one for one in self.steps if one.step.hold and one.step.key not in stands])

    def cards(self, gate: str) -> list[CardView]:
        """Return the hold steps of a gate as a person does them: by card, or each by itself."""
        cards: dict[str, list[ListedStep]] = {}
        for listed in self.gate(gate):
            cards.setdefault(listed.step.together or f"step {listed.key}", []).append(listed)
        return [CardView(self.pack.cards.get(name), tuple(steps)) for name, steps in cards.items()]

    def open_cards(self, gate: str) -> list[CardView]:
        """Return the cards of a gate with something left to sign."""
        return [card for card in self.cards(gate) if not card.stands]

    def unmet(self, name: str) -> list[ListedStep]:
        """Return the hold steps that keep the gate shut."""
        stands = self.standing
        return [listed for listed in self.gate(name) if listed.step.key not in stands]

    @cached_property
    def asks(self) -> list[Ask]:
        """Facts that take holds of the next gate away, the one that takes most first."""
        return asking.asks(self)

    @cached_property
    def missing_facts(self) -> list[str]:
        """Facts not recorded that matter here, in the order in which to ask for them."""
        return asking.missing(self, self.asks)

    @cached_property
    def undecided(self) -> dict[str, list[ListedStep]]:
        """Service steps that nobody has decided yet, by the fact that decides them."""
        return asking.undecided(self)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form, as `checklist` prints it and the API sends it."""
        return {
            "pack": {
                "name": self.pack.name,
                "version": self.pack.version,
                "digest": self.pack.digest,
            },
            "missing_facts": self.missing_facts,
            "next_gate": asking.next_gate(self),
            "asks": [ask.as_dict() for ask in self.asks],
            "steps": [step.as_dict() for step in self.steps],
            "hazards": [_hazard_as_dict(one, self) for one in self.up],
        }


def _judged(listed: ListedStep, history: History, two_people: bool) -> ListedStep:
    now = validity.of(listed.step, listed.content_hash, history, two_people=two_people)
    return ListedStep(listed.step, listed.listing, now, listed.answered)


def _hazard_as_dict(one: Armed, checklist: Checklist) -> dict[str, Any]:
    hazard, met = one.hazard, hazards.met(one, checklist)
    meets = [exposure for exposure in EXPOSURES if exposure in met]
    return {
        "key": hazard.key,
        "title": hazard.title,
        "meets": meets,
        "cleared_by": list(hazard.cleared_by),
        "certain": one.certain,
    }


def is_opened(facts: Mapping[str, Value], history: History) -> bool:
    """Tell whether the unit has been opened or worked on inside.

    Without a history, work that the facts tell of may have been anywhere.
    """
    told = not history.events and bool(facts.get("work"))
    return told or history.touched or facts.get("job.cover") == "off"
