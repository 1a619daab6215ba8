"""A move of the hands, and what the shop says to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

# Verbs that ask for leave; a no to them is an answer, not a hindrance.
ASKING = (
    "limited",
    "full",
    "cover-off",
    "stage",
    "waive",
    "second-job",
    "sign while the plug is due",
)


@dataclass
class Move:
    """`verb` is a function of the shop; `sort` names it in the table."""

    verb: str
    sort: str
    data: dict[str, Any] = field(default_factory=dict)
    number: int = 0
    # For a signature: what is done, what it shows; for a finding or fact: the fault it tells.
    doing: Any = None
    tells: frozenset[str] = frozenset()

    @property
    def asks(self) -> bool:
        return self.sort in ASKING

    def __str__(self) -> str:
        said = " ".join(f"{k}={v}" for k, v in self.data.items())
        return f"#{self.number} {self.verb} {said}".strip()


@dataclass(frozen=True)
class Answer:
    """`said` is accepted, refused, or unknown: the shop has no such thing yet."""

    said: str
    codes: tuple[str, ...] = ()
    sentence: str = ""
    number: int = 0
    row: int = 0

    @property
    def accepted(self) -> bool:
        return self.said == "accepted"
