"""Words about jobs, their ledgers and their rules."""

from __future__ import annotations

from collections.abc import Mapping

from django import template

from checklists.engine.vocabulary import VOCABULARY, Fact, Value
from shop.jobs import events, names
from shop.jobs.facts import shown_label
from shop.jobs.ledger import AnyRow
from shop.jobs.tables import WAITS
from shop.lib import pack_words
from shop.lib.text import spaced

register = template.Library()
register.filter(names.stage_name)
register.filter(names.power_name)
register.filter(names.cover_name)
register.filter(names.soak_name)
register.filter(names.estimate_name)
register.filter(names.result_name)


@register.filter
def translated(words: object) -> str:
    """Return words of the code in the language of the page, marked where they are a safety text."""
    said = names.translated(words)
    return pack_words.marked(said, said) if said == words else said


@register.filter
def unfilled(sentence: str) -> str:
    """Return a rule's sentence with its places for facts in words: '[rail volts]'."""
    return pack_words.pack_pattern(sentence)


@register.filter
def filled(sentence: str, facts: Mapping[str, Value]) -> str:
    """Return a rule's sentence with the facts of a unit in it."""
    return pack_words.pack_sentence(sentence, facts)


@register.filter
def fact_name(name: str) -> str:
    """Return what pages call a fact by its name in files: 'Highest rail (V)'."""
    fact = VOCABULARY.get(name)
    return shown_label(fact) if fact else spaced(name.split(".")[-1])


@register.filter
def waits(word: str) -> str:
    """Return 'the customer' for 'owner'."""
    return str(WAITS.get(word, word))


@register.filter
def told(row: AnyRow) -> list[str]:
    """Return what a ledger row says, as short parts."""
    return events.words(row)


@register.filter
def fact_label(fact: Fact) -> str:
    """Return what a fact is called on pages."""
    return shown_label(fact)


@register.filter
def of(facts: dict[str, object], name: str) -> object:
    """Return a fact by its dotted name."""
    return facts.get(name, "")
