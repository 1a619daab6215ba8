"""A catalogue for tests that puts every translated string in angle quotes."""

from __future__ import annotations

import gettext
import re
from collections.abc import Container

from django.utils.translation import trans_real

_CONTEXT = "\x04"


class Quoting(gettext.NullTranslations):
    """«What for» for What for, of the strings that it knows: all, unless told which."""

    def __init__(self, language: str, known: Container[str] | None = None):
        super().__init__()
        self._language = language
        self._known = known

    def to_language(self):
        return self._language

    def gettext(self, message):
        words = message.rpartition(_CONTEXT)[2]
        return f"«{words}»" if self._known is None or message in self._known else words

    def ngettext(self, singular, plural, n):
        quoted = self.gettext(singular) != singular.rpartition(_CONTEXT)[2]
        words = (singular if n == 1 else plural).rpartition(_CONTEXT)[2]
        return f"«{words}»" if quoted else words


def spoken(monkeypatch, language: str, known: Container[str] | None = None) -> None:
    """Let a language be that catalogue until the test ends."""
    monkeypatch.setitem(trans_real._translations, language, Quoting(language, known))


def bare(text: str) -> str:
    """Return what stands in no quotes, nested ones included."""
    before = None
    while before != text:
        before, text = text, re.sub(r"«[^«»]*»", " ", text)
    return text


def times(words: str, text: str) -> int:
    """Return how often words stand in a text, whatever blanks lie between letters of two faces."""
    return "".join(text.split()).count("".join(words.split()))
