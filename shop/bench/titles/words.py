"""What the words of a calculation are made of."""

from __future__ import annotations

from typing import NamedTuple


class Words(NamedTuple):
    """Title, what it gives in one sentence, the figures that come first, and words to find it by.

    A figure of `first` is a key of the result, or `key=what it is called here`.
    """

    title: str
    gives: str
    first: tuple[str, ...]
    also: str = ""

    @property
    def first_by_key(self) -> dict[str, str]:
        """The figures that come first, each with what it is called here, or nothing."""
        return {key: name for key, _, name in (one.partition("=") for one in self.first)}
