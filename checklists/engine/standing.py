"""How a step stands: what was signed for it, and whether that still holds."""

from __future__ import annotations

from dataclasses import dataclass

from checklists.engine.history import Happening, History
from checklists.engine.pack import Step

DUE, SIGNED, ENDED, FAILED = "due", "signed", "ended", "failed"
WAIVED, NOT_APPLICABLE = "waived", "not-applicable"
STANDING = frozenset({SIGNED, WAIVED, NOT_APPLICABLE})

_STATE_OF = {
    "pass": SIGNED,
    "fail": FAILED,
    "not-applicable": NOT_APPLICABLE,
    "waived": WAIVED,
}


@dataclass(frozen=True, slots=True)
class Standing:
    """The state of one step, one sentence about it, and the sign-off it rests on."""

    state: str
    why: str = ""
    signoff: Happening | None = None

    @property
    def stands(self) -> bool:
        """Whether a gate may count on this step."""
        return self.state in STANDING


NOT_SIGNED = Standing(DUE, "Not signed yet.")


def of(step: Step, substance: str, history: History, *, two_people: bool = False) -> Standing:
    """Return how the step stands.

    A sign-off stands until an event that the step names comes after it, or until the
    step's text, limits or plan are no longer those that were signed.
    """
    signoffs = history.signoffs.get(step.key)
    if not signoffs:
        return NOT_SIGNED
    last = signoffs[-1]
    state = _STATE_OF.get(last.result, DUE)
    if state == FAILED:
        return Standing(FAILED, "Failed; the gate stays shut until a later pass.", last)
    ended = history.ended_after(last.sequence, step.ended_by)
    if ended is not None:
        return Standing(ENDED, f"Ended by {_told(ended)}.", last)
    if last.substance != substance:
        return Standing(ENDED, "The text, a limit or the plan of this step has changed.", last)
    if two_people and step.second_person and state == SIGNED:
        return _with_second_person(step, substance, history, signoffs)
    return Standing(state, "", last)


def _with_second_person(
    step: Step, substance: str, history: History, signoffs: list[Happening]
) -> Standing:
    last = signoffs[-1]
    people = {last.by}
    for earlier in reversed(signoffs[:-1]):
        counts = earlier.result == "pass" and earlier.substance == substance
        if not counts or history.ended_after(earlier.sequence, step.ended_by):
            break
        people.add(earlier.by)
    if len(people) > 1:
        return Standing(SIGNED, "", last)
    return Standing(DUE, f"Signed by {last.by}; a second person has to sign as well.", last)


def _told(row: Happening) -> str:
    what = row.kind.replace("_", " ")
    detail = ", ".join(part for part in (row.work, row.finding, row.section) if part)
    return f"{what} ({detail})" if detail else what
