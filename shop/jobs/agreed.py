"""What the customer agreed to, what the customer asked, and what has come up beyond the agreement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from shop.jobs.ledger import AnyRow
from shop.jobs.needs import Need


@dataclass(slots=True)
class Agreement:
    """How the money side stands.

    `answer` is none, sent, yes, no or question; `covers` holds the data of the last estimate
    that was said yes to, and `ring_above` the price up to which nobody has to ask. `answers`
    has the last answer to each version.
    """

    answer: str = "none"
    sent: dict[str, Any] | None = None
    covers: dict[str, Any] | None = None
    ring_above: str = ""
    answers: dict[int | None, AnyRow] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Question:
    """What the customer asked, and what was said to it; `reply` is None while it is open."""

    asked: AnyRow
    reply: AnyRow | None = None


def beyond(agreed: Agreement, needs: Sequence[Need], work: Sequence[str]) -> list[str]:
    """Return what has come up beyond the agreement, in words; empty when it is covered.

    Parts are covered by name of their need, work by its word where the estimate names any. An
    estimate that was noted without its lines says nothing of its limits and covers all. Before
    any yes, whoever asked to be rung above a price has agreed to nothing yet.
    """
    required = [need for need in needs if need.required]
    if agreed.covers is None:
        asked = agreed.ring_above and (required or work)
        return (
            ["the customer asked to be rung above a price, and no estimate is agreed"]
            if asked
            else []
        )
    if "needs" not in agreed.covers:
        return []
    covered, named = _listed(agreed.covers, "needs"), _listed(agreed.covers, "work")
    parts = [need.spec for need in required if need.sequence not in covered]
    return parts + [word.replace("-", " ") for word in work if named and word not in named]


def _listed(covers: dict[str, Any], name: str) -> list[Any]:
    value = covers.get(name)
    return value if isinstance(value, list) else []
