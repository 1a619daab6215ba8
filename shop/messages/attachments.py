"""What goes along with an e-mail: rooms above offer it by the occasion, made as the mail goes out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from shop.messages.models import Message


class Attachment(NamedTuple):
    """A file of an e-mail."""

    name: str
    content: bytes
    media_type: str


_BY_OCCASION: dict[str, Callable[[Message], Iterable[Attachment]]] = {}


def add(about: str, make: Callable[[Message], Iterable[Attachment]]) -> None:
    """Let every e-mail of an occasion carry what `make` returns for it."""
    _BY_OCCASION[about] = make


def of(message: Message) -> list[Attachment]:
    """Return the files of an e-mail; most have none."""
    make = _BY_OCCASION.get(message.about)
    return list(make(message)) if make else []
