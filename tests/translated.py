"""Words of a test's own in a catalogue: what is tested does not hang on what translators write."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils.translation import trans_real


def say(monkeypatch: pytest.MonkeyPatch, language: str, words: dict[str, str]) -> None:
    """Let a language say these words, for the length of a test."""
    catalog: Any = trans_real.translation(language)._catalog._catalogs[0]  # type: ignore[attr-defined]
    for english, translated in words.items():
        monkeypatch.setitem(catalog, english, translated)
