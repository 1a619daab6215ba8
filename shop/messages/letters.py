"""Messages that are printed as a letter: rooms above offer it by the occasion, with its address."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shop.messages.models import Message

_BY_OCCASION: dict[str, Callable[[Message], str]] = {}


def add(about: str, address: Callable[[Message], str]) -> None:
    """Let messages of an occasion that a person passes on be printed, at what `address` returns."""
    _BY_OCCASION[about] = address


def address_of(message: Message) -> str:
    """Return where a message is printed as a letter; empty for most."""
    address = _BY_OCCASION.get(message.about)
    return address(message) if address and message.waits_for_person and message.text else ""
