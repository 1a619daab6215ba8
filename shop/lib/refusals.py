"""Why something is not done: refusals as objects, and bad input as a sentence.

Button, page, API and log print the same words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

# An answer stays short, whatever was sent.
MOST_NAMED, LONGEST_FIELD = 20, 80


def short(name: str) -> str:
    """Return the name of a field, one that is too long cut in the middle."""
    half = LONGEST_FIELD // 2
    return name if len(name) <= LONGEST_FIELD else f"{name[:half]}...{name[-half:]}"


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason against a move; `step` and what follows are set when a hold step is the reason."""

    code: str
    sentence: str
    step: str = ""
    title: str = ""
    state: str = ""

    def as_dict(self) -> dict[str, str]:
        """Return the JSON form of an unmet hold step."""
        return {
            "key": self.step,
            "title": self.title,
            "state": self.state,
            "why": self.sentence,
        }


class UserFacingError(Exception):
    """Something asked for and not done; nothing was written. The message is a sentence for people.

    `status` is what HTTP calls it.
    """

    status = 409

    @property
    def details(self) -> dict[str, Any]:
        """What the API says besides the sentence."""
        return {}


class Refused(UserFacingError):
    """A move that is not made."""

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        self.refusals = list(refusals)
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """All reasons in one line: plain ones first, then how many hold steps are open."""
        plain = [r.sentence for r in self.refusals if not r.step]
        steps = [r.title for r in self.refusals if r.step]
        if steps:
            sentence = _("Hold steps are not signed or no longer stand: {steps}.")
            plain.append(sentence.format(steps="; ".join(steps)))
        return " ".join(plain)

    @property
    def unmet(self) -> list[Refusal]:
        """The hold steps among the reasons."""
        return [refusal for refusal in self.refusals if refusal.step]

    @property
    def details(self) -> dict[str, Any]:
        """The hold steps in the way, and a code for each reason."""
        return {
            "unmet": [refusal.as_dict() for refusal in self.unmet],
            "codes": [refusal.code for refusal in self.refusals],
        }


def refuse(code: str, sentence: str) -> Refused:
    """Return a Refused with one plain reason, to be raised."""
    return Refused([Refusal(code, sentence)])


class BadInput(UserFacingError, ValueError):
    """Input that cannot be taken: one (field, sentence) for each fault."""

    status = 422

    def __init__(self, problems: Sequence[tuple[str, str]]) -> None:
        named = problems if len(problems) <= MOST_NAMED + 1 else problems[:MOST_NAMED]
        self.problems = [(short(field), sentence) for field, sentence in named]
        if len(named) < len(problems):
            more = _("And {count} more.").format(count=len(problems) - MOST_NAMED)
            self.problems.append(("body", more))
        super().__init__(" ".join(sentence for _, sentence in self.problems))

    @property
    def details(self) -> dict[str, Any]:
        """Each fault with its field."""
        return {
            "problems": [
                {"field": field, "sentence": sentence} for field, sentence in self.problems
            ]
        }


def bad(field: str, sentence: str) -> BadInput:
    """Return a BadInput with one fault, to be raised."""
    return BadInput([(field, sentence)])


class Forbidden(Exception):
    """The person's role does not allow it; the message is a sentence.

    No UserFacingError: there is nothing to type again, so no form answers it.
    """
