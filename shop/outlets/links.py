"""What a connection to an outlet can do, whatever it speaks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from shop.outlets.messages import State


class NotInstalled(Exception):
    """The library for this kind of outlet is not there; the message says how to get it."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is not installed: pip install 'benchtag[outlets]'.")


@dataclass(frozen=True, slots=True)
class Heard:
    """A state, and when it was heard by the clock that nobody sets."""

    state: State
    at: float


class Link(Protocol):
    """A connection that finds its way back by itself. Used by one thread."""

    def listen(self, seconds: float) -> Heard | None:
        """Wait at most so long for the newest state."""

    def answer(self, tick: int, *, enable: bool) -> None:
        """Answer a tick; what cannot be sent is lost."""

    def close(self) -> None:
        """Withdraw the enable as far as anybody listens, and hang up."""
