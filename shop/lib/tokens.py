"""Text as words that can be looked for: the same on the way in and on the way to be found.

Any script. Case and the accents of Latin, Greek and Cyrillic letters do not count. Scripts that
are written without spaces are cut into single letters, to be found as a run. Plain Python.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

LONGEST_WORD = 60

_ACCENTS = re.compile("[\u0300-\u036f]")
# Han, kana, hangul syllables, Thai, Lao, Khmer, Burmese.
_UNSPACED = re.compile(
    "[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3005-\u3007\u3040-\u30ff\u3400-\u9fff\uac00-\ud7af]"
)


def words_of(text: str) -> list[str]:
    """Return the words of a text in order, each as it is kept."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    plain = unicodedata.normalize("NFC", _ACCENTS.sub("", plain))
    return [piece for run in _runs(plain) for piece in _pieces(run)]


def phrases_of(query: str) -> list[list[str]]:
    """Return what is looked for: single words, and for unspaced scripts the run of letters."""
    plain = unicodedata.normalize("NFKD", query).casefold()
    plain = unicodedata.normalize("NFC", _ACCENTS.sub("", plain))
    return [list(_pieces(run)) for run in _runs(plain)]


def _runs(text: str) -> Iterator[str]:
    """Yield what stands between blanks and marks: letters, their signs, and figures."""
    run: list[str] = []
    for letter in text:
        if unicodedata.category(letter)[0] in "LMN":
            run.append(letter)
        elif run:
            yield "".join(run)
            run = []
    if run:
        yield "".join(run)


def _pieces(run: str) -> Iterator[str]:
    if not _UNSPACED.search(run):
        yield run[:LONGEST_WORD]
        return
    for letter in run:
        if unicodedata.category(letter)[0] != "M":
            yield letter
