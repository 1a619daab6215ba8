"""Text as people type it: any script, no control characters that a database or a log chokes on."""

from __future__ import annotations

import unicodedata

from django.utils.translation import gettext as _

from checklists.engine.figures import grouped

# Named again, so that rooms need not know the rules to quote a value.
from checklists.engine.quoting import quoted as quoted
from shop.lib.customer_words import field_name
from shop.lib.refusals import BadInput, bad

_ALLOWED_CONTROLS = "\n\t"


def take(field: str, value: object, longest: int, *, needed: bool = False) -> str:
    """Return the text, stripped; BadInput with a sentence when it cannot be taken."""
    if not isinstance(value, str):
        raise _unfit_for(field, _("{field} is {value}; it must be text."), value=quoted(value))
    text = value.replace("\r\n", "\n").strip()
    if len(text) > longest:
        sentence = _("{field} has {count} characters; at most {most} are kept.")
        raise _unfit_for(field, sentence, count=grouped(len(text)), most=grouped(longest))
    # What prints holds no control character; most texts need no look at each letter.
    if not text.isprintable() and any(_unfit(letter) for letter in text):
        raise _unfit_for(field, _("{field} holds a control character; write plain text."))
    if needed and not text:
        raise _unfit_for(field, _("{field} is empty; write it down."))
    return text


def _unfit_for(field: str, sentence: str, **values: str) -> BadInput:
    return bad(field, sentence.format(field=field_name(field), **values))


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
