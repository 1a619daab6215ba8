"""Whether the sign-off of a step is still valid, and why not."""

from __future__ import annotations

from dataclasses import dataclass

from checklists.engine.history import Event, History
from checklists.engine.pack import Step
from checklists.engine.words import TOLD, as_shown

DUE, SIGNED, ENDED, FAILED = "due", "signed", "ended", "failed"
WAIVED, NOT_APPLICABLE = "waived", "not-applicable"
_VALID_STATES = frozenset({SIGNED, WAIVED, NOT_APPLICABLE})

_STATE_OF = {
    "pass": SIGNED,
    "fail": FAILED,
    "not-applicable": NOT_APPLICABLE,
    "waived": WAIVED,
}


@dataclass(frozen=True, slots=True)
class Validity:
    """The state of one step, one sentence about it, and the sign-off it rests on."""

    state: str
    why: str = ""
    signoff: Event | None = None

    @property
    def stands(self) -> bool:
        """Whether a gate may count on this step."""
        return self.state in _VALID_STATES


NOT_SIGNED = Validity(DUE, "Not signed yet.")


def of(step: Step, content_hash: str, history: History, *, two_people: bool = False) -> Validity:
    """Return how the sign-off of a step stands.

    A sign-off stands until an event that the step names comes after it, or until the
    step's text, limits or plan are no longer those that were signed.
    """
    signoffs = history.signoffs.get(step.key)
    if not signoffs:
        return NOT_SIGNED
    last = signoffs[-1]
    state = _STATE_OF.get(last.result, DUE)
    if state == FAILED:
        or_waived = ", or a waiver that rests on a new look" if step.waivable_by else ""
        return Validity(FAILED, f"Failed; the gate stays shut until a later pass{or_waived}.", last)
    ending = _ending(step, last, history)
    if ending is not None:
        return Validity(ENDED, f"Ended by {_in_words(ending)}.", last)
    if last.content_hash != content_hash:
        return Validity(ENDED, "The text, a limit or the plan of this step has changed.", last)
    if two_people and step.second_person and state == SIGNED:
        return _with_second_person(step, content_hash, history, signoffs)
    return Validity(state, "", last)


def _ending(step: Step, signoff: Event, history: History) -> Event | None:
    spared = signoff if step.of_the_closed_unit else None
    return history.ends_after(
        signoff.sequence, step.invalidated_by, spared=spared, hazards=step.hazards
    )


def _with_second_person(
    step: Step, content_hash: str, history: History, signoffs: list[Event]
) -> Validity:
    last = signoffs[-1]
    people = {last.by}
    for earlier in reversed(signoffs[:-1]):
        counts = earlier.result == "pass" and earlier.content_hash == content_hash
        if not counts or _ending(step, earlier, history):
            break
        people.add(earlier.by)
    if len(people) > 1:
        return Validity(SIGNED, "", last)
    return Validity(DUE, f"Signed by {last.by}; a second person has to sign as well.", last)


def _in_words(event: Event) -> str:
    what = event.event_type.replace("_", " ")
    if event.unreadable:
        return f"row {event.sequence} ({what}), which cannot be read"
    told = TOLD.get(event.event_type, what)
    parts = (event.fact, event.work, event.finding, event.section, event.stage)
    detail = ", ".join(as_shown(part.rpartition(".")[2]) for part in parts if part)
    return f"{told}: {detail}" if detail else told
