"""What the owner agreed to, and what has come up beyond it, from the rows of a ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shop.jobs.record import AnyRow, Need


@dataclass(frozen=True)
class Agreement:
    """How the money side stands.

    `answer` is none, sent, yes, no or question; `covers` holds the data of the last estimate
    that was said yes to, and `ring_above` the price up to which nobody has to ask.
    """

    answer: str = "none"
    sent: dict[str, Any] | None = None
    covers: dict[str, Any] | None = None
    ring_above: str = ""


@dataclass(frozen=True)
class Question:
    """What the owner asked, and what was said to it; `reply` is None while it is open."""

    asked: AnyRow
    reply: AnyRow | None = None


def questions(rows: Sequence[AnyRow]) -> list[Question]:
    """Return the owner's questions, oldest first; a reply answers all that are open."""
    found: list[Question] = []
    for row in rows:
        if _is_question(row):
            found.append(Question(row))
        elif row.event_type == "question_replied":
            found = [one if one.reply else Question(one.asked, row) for one in found]
    return found


def _is_question(row: AnyRow) -> bool:
    if row.event_type == "estimate_answered":
        return row.data["answer"] == "question" and bool(row.data.get("note"))
    return row.event_type == "question_asked"


def agreement(rows: Sequence[AnyRow]) -> Agreement:
    """Return what the rows say of estimates, answers and the price limit, the last word of each."""
    answer, sent, covers, limit = "none", None, None, ""
    for row in rows:
        if row.event_type == "estimate_sent":
            answer, sent = "sent", row.data
        elif row.event_type == "estimate_answered":
            answer = str(row.data["answer"])
            covers = sent if answer == "yes" else covers
        elif row.event_type == "limit_agreed":
            limit = str(row.data["amount"])
    return Agreement(answer, sent, covers, limit)


def beyond(found: Agreement, needs: Sequence[Need], work: Sequence[str]) -> list[str]:
    """Return what has come up beyond the agreement, in words; empty when it is covered.

    Parts are covered by name of their need, work by its word where the estimate names any. An
    estimate that was noted without its lines says nothing of its limits and covers all. Before
    any yes, whoever asked to be rung above a price has agreed to nothing yet.
    """
    required = [need for need in needs if need.required]
    if found.covers is None:
        asked = found.ring_above and (required or work)
        return (
            ["the owner asked to be rung above a price, and no estimate is agreed"] if asked else []
        )
    if "needs" not in found.covers:
        return []
    covered, named = set(found.covers["needs"]), found.covers.get("work") or []
    parts = [need.spec for need in required if need.sequence not in covered]
    return parts + [word.replace("-", " ") for word in work if named and word not in named]
