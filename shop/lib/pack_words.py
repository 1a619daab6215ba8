"""Words of the rule pack in the language of the page.

What is stored, hashed and sent stays English. A safety text is English on the page as well until
a technician has read its translation; a page marks it as English, and says why once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.utils.html import format_html
from django.utils.translation import gettext, pgettext

from checklists import published
from checklists.engine import wording
from checklists.engine.cel import Outcome
from checklists.engine.history import Trigger
from checklists.engine.reasons import Reason, filled_in
from checklists.engine.vocabulary import QUOTED_FACT, Value
from shop.lib import languages
from shop.lib.text import spaced


def pack_text(english: object) -> str:
    """Return words of the pack for where no markup can stand; what nobody translated as it is.

    A shop's own rules are in no catalogue, and stay as they were written.
    """
    text = str(english)
    if not text or languages.is_english():
        return text
    return pgettext(wording.READ if text in _of_pack().safety else wording.WORDS, text)


def pack_title(english: str) -> str:
    """Return a title for where no markup can stand: 'Relay replaced' by the word 'relay replaced'."""
    said = pack_text(english)
    if said != english or not english:
        return said
    word = pack_text(english[0].lower() + english[1:])
    return word[0].upper() + word[1:]


def pack_words(english: object) -> str:
    """Return words of the pack for a page, marked as English where they are and the page is not."""
    text = str(english)
    shown = pack_text(text)
    return marked(text, shown) if shown == text else shown


def pack_sentence(english: str, facts: Mapping[str, Value]) -> str:
    """Return a sentence of a rule for a page, with the facts of a unit in it."""
    said = pack_text(english)
    if said == english:
        return marked(english, filled_in(english, facts))
    return QUOTED_FACT.sub(lambda m: _value(m[1], facts), said)


def pack_pattern(english: str) -> str:
    """Return a sentence of a rule for a page, with its places for facts in words: '[rail volts]'."""
    said = pack_text(english)
    name = spaced if said == english else pack_word
    shown = QUOTED_FACT.sub(lambda m: f"[{name(m[1].split('.')[-1])}]", said)
    return marked(english, shown) if said == english else shown


def pack_reason(reason: Reason) -> str:
    """Return for a page why a step is on the list."""
    english = reason.rule.because
    if pack_text(english) == english:
        return marked(english, reason.text)
    said = pack_sentence(english, reason.facts)
    if reason.outcome is Outcome.BROKEN:
        return f"{said} {gettext('(The rule could not be decided, so the step stays.)')}"
    if reason.missing:
        names = ", ".join(sorted(reason.missing))
        return f"{said} {gettext('(Not recorded yet: {names}.)').format(names=names)}"
    return said


def pack_word(word: object) -> str:
    """Return a word of the vocabulary as a page says it, for 'valve-amplifier' 'valve amplifier'."""
    return pack_text(spaced(word))


def pack_trigger(trigger: Trigger) -> str:
    """Return what ends a sign-off as a page says it: 'work done (relay replaced)'."""
    narrowed = ", ".join(pack_word(word) for word in trigger.narrowed())
    event = pack_word(trigger.event_type)
    return f"{event} ({narrowed})" if narrowed else event


def pack_value(value: object) -> str:
    """Return a recorded value as a page says it: words of the vocabulary in its language."""
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if isinstance(value, list | tuple):
        return ", ".join(pack_word(word) for word in value)
    return pack_word(value) if isinstance(value, str) else str(value)


def _value(name: str, facts: Mapping[str, Value]) -> str:
    value = facts.get(name)
    if value is None:
        return gettext("(not recorded)")
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if isinstance(value, str | list):
        return pack_value(value) or gettext("none")
    return filled_in(f"{{{name}}}", facts)


def marked(english: str, shown: str) -> str:
    """Return English words of the shipped pack so that a page in another language tells them apart."""
    if languages.is_english() or english not in _of_pack().every:
        return shown
    if english in _of_pack().safety:
        return format_html('<span lang="en" class="not-read">{}</span>', shown)
    return format_html('<span lang="en">{}</span>', shown)


class _Texts:
    """The texts of the shipped pack."""

    def __init__(self, texts: Iterable[wording.Wording]) -> None:
        texts = list(texts)
        self.every = frozenset(one.text for one in texts)
        self.safety = frozenset(one.text for one in texts if one.safety)


def _of_pack() -> _Texts:
    return _texts(settings.PACK_FOLDER)


@lru_cache(maxsize=2)
def _texts(folder: Path) -> _Texts:
    return _Texts([*wording.of_pack(published.shipped()), *wording.of_vocabulary()])
