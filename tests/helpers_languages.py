"""A catalogue for tests that puts every translated string in angle quotes."""

from __future__ import annotations

import gettext
import re

from django.utils.translation import trans_real

_CONTEXT = "\x04"


class Quoting(gettext.NullTranslations):
    """«What for» for What for; it asks for no catalogue."""

    def __init__(self, language: str):
        super().__init__()
        self._language = language

    def to_language(self):
        return self._language

    def gettext(self, message):
        return f"«{message.rpartition(_CONTEXT)[2]}»"

    def ngettext(self, singular, plural, n):
        return self.gettext(singular if n == 1 else plural)


def spoken(monkeypatch, language: str) -> None:
    """Let a language be that catalogue until the test ends."""
    monkeypatch.setitem(trans_real._translations, language, Quoting(language))


def bare(text: str) -> str:
    """Return what stands in no quotes, nested ones included."""
    before = None
    while before != text:
        before, text = text, re.sub(r"«[^«»]*»", " ", text)
    return text


def times(words: str, text: str) -> int:
    """Return how often words stand in a text, whatever blanks lie between letters of two faces."""
    return "".join(text.split()).count("".join(words.split()))
