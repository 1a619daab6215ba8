"""Words about jobs, their ledgers and their rules."""

from __future__ import annotations

from collections.abc import Mapping

from django import template

from checklists.engine.checklist import filled_in
from checklists.engine.vocabulary import QUOTED_FACT, VOCABULARY, Fact, Value
from shop.jobs import events, names
from shop.jobs.facts import label
from shop.jobs.ledger import AnyRow
from shop.jobs.tables import WAITS
from shop.lib.text import spaced

register = template.Library()
register.filter(names.stage_name)
register.filter(names.power_name)
register.filter(names.cover_name)
register.filter(names.soak_name)
register.filter(names.result_name)
register.filter(names.translated)


@register.filter
def unfilled(sentence: str) -> str:
    """Return a rule's sentence with its places for facts in words: '[rail volts]'."""
    return QUOTED_FACT.sub(lambda m: f"[{spaced(m[1].split('.')[-1])}]", sentence)


@register.filter
def filled(sentence: str, facts: Mapping[str, Value]) -> str:
    """Return a rule's sentence with the facts of a unit in it."""
    return filled_in(sentence, facts)


@register.filter
def fact_name(name: str) -> str:
    """Return what pages call a fact by its name in files: 'Highest rail (V)'."""
    fact = VOCABULARY.get(name)
    return label(fact) if fact else spaced(name.split(".")[-1])


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
    return label(fact)


@register.filter
def of(facts: dict[str, object], name: str) -> object:
    """Return a fact by its dotted name."""
    return facts.get(name, "")
