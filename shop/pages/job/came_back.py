"""A unit that was here before: its warranty, and what its last job knew of it."""

from __future__ import annotations

from dataclasses import dataclass

from checklists.engine.vocabulary import VOCABULARY, Value
from shop.jobs import earlier_facts, warranty
from shop.jobs.earlier_facts import EarlierFact
from shop.jobs.facts import shown_label
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.jobs.stages import Stage
from shop.jobs.warranty import Return
from shop.lib.pack_words import pack_value
from shop.lib.text import plain


@dataclass(frozen=True)
class CameBack:
    """What a page says of it; facts are name, words and value."""

    returned: Return | None
    earlier: Job | None
    as_built: list[tuple[str, str, str]]
    to_look_at: list[tuple[str, str, str]]


def of(traveller: Traveller) -> CameBack | None:
    """Return what there is to say and to take over; None for a first visit and for a closed job."""
    job = traveller.job
    earlier = None if job.closed else earlier_facts.earlier_job(job)
    if earlier is None:
        return None
    facts = earlier_facts.offered(traveller.record, earlier)
    return CameBack(
        warranty.return_of(job),
        earlier,
        [_in_words(fact) for fact in facts if fact.as_built],
        [_in_words(fact) for fact in facts if not fact.as_built],
    )


def on_arrival(traveller: Traveller) -> CameBack | None:
    """Return it for the card, which says it until the unit is worked on."""
    return of(traveller) if traveller.job.stage == Stage.RECEIVED else None


def _in_words(fact: EarlierFact) -> tuple[str, str, str]:
    return fact.name, shown_label(VOCABULARY[fact.name]), _value(fact.value)


def _value(value: Value) -> str:
    return (pack_value(value) if isinstance(value, str | list) else plain(value)) or "none"
