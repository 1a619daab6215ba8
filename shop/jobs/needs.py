"""A part that a job needs, from the moment it is noted until it is fitted."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(slots=True, kw_only=True)
class Need:
    """A part that a job needs; `sequence` of its ledger row is its name."""

    sequence: int
    spec: str
    required: bool
    quantity: int = 1
    part: int | None = None
    ordered: bool = False
    pieces: int = 0
    fitted: bool = False
    order: int | None = None

    @property
    def arrived(self) -> bool:
        """Whether all pieces are here."""
        return self.pieces >= self.quantity

    @property
    def missing(self) -> int:
        """Pieces that have not arrived."""
        return max(0, self.quantity - self.pieces)

    @property
    def outstanding(self) -> bool:
        """Whether it has neither arrived nor been fitted."""
        return not (self.arrived or self.fitted)
