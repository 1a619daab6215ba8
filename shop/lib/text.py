"""Text as people type it: any script, no control characters that a database or a log chokes on."""

from __future__ import annotations

import unicodedata

from checklists.engine.figures import grouped

# Named again, so that rooms need not know the rules to quote a value.
from checklists.engine.quoting import quoted as quoted
from shop.lib.refusals import bad

_ALLOWED_CONTROLS = "\n\t"


def take(field: str, value: object, longest: int, *, needed: bool = False) -> str:
    """Return the text, stripped; BadInput with a sentence when it cannot be taken."""
    if not isinstance(value, str):
        raise bad(field, f"{field} is {quoted(value)}; it must be text.")
    text = value.replace("\r\n", "\n").strip()
    if len(text) > longest:
        raise bad(
            field,
            f"{field} has {grouped(len(text))} characters; at most {grouped(longest)} are kept.",
        )
    # What prints holds no control character; most texts need no look at each letter.
    if not text.isprintable() and any(_unfit(letter) for letter in text):
        raise bad(field, f"{field} holds a control character; write plain text.")
    if needed and not text:
        raise bad(field, f"{field} is empty; write it down.")
    return text


def whole(typed: str) -> int | None:
    """Return a whole number of at most 18 digits, which every database holds; None for anything else."""
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) <= 18 else None


def _unfit(letter: str) -> bool:
    # Cs: half a surrogate pair, which no encoding can store.
    return unicodedata.category(letter) in ("Cc", "Cs") and letter not in _ALLOWED_CONTROLS


def spaced(word: object) -> str:
    """Return 'awaiting parts' for 'awaiting_parts'."""
    return str(word).replace("_", " ").replace("-", " ")


def plain(value: object) -> str:
    """Return a recorded value in words: yes, 4.5, warm, knocked."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
