"""What is known of the unit, what would be worth finding out, its findings and its suspects."""

from __future__ import annotations

from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from checklists.engine.roles import StepRole
from checklists.engine.vocabulary import VOCABULARY, Value
from shop.jobs import forms, ledger_words, suspecting
from shop.jobs.facts import TYPED, shown_label
from shop.jobs.kits import spec_for
from shop.jobs.queries import Traveller
from shop.jobs.stages import Stage
from shop.lib.pack_words import pack_value
from shop.pages.job import came_back

WORTH_FINDING_OUT = 5
_ENTRIES = 20
_SEARCHING = (Stage.RECEIVED, Stage.REPRODUCING, Stage.OPENED, Stage.AWAITING_PARTS)


def unit(traveller: Traveller, *, typed: QueryDict | None = None) -> dict[str, Any]:
    """Return what the page of the unit shows; `typed` refills what is worth finding out."""
    known, checklist = traveller.record.facts, traveller.checklist
    facts = [(shown_label(fact), known.get(fact.name)) for fact in TYPED]
    return {
        "facts": [
            (name, _in_words(value))
            for name, value in facts
            if value is not None and not _is_nothing(value)
        ],
        "without": [name for name, value in facts if _is_nothing(value)],
        "all_facts": TYPED,
        "worth": worth_asking(checklist.missing_facts, typed),
        "findings": findings(known.get("findings")),
        "trials_asked": not traveller.job.closed
        and checklist.with_role(StepRole.CLEAN_TRIALS) is not None,
        "came_back": came_back.of(traveller),
        "entries": ledger_words.withdrawable(traveller.record, most=_ENTRIES),
    }


def worth_asking(missing: list[str], typed: QueryDict | None = None) -> list[tuple[str, str, Any]]:
    """Return name, words and field of the facts that are worth asking first."""
    chosen = [VOCABULARY[name] for name in missing[:WORTH_FINDING_OUT]]
    form = forms.FactsForm(typed, facts=tuple(chosen), auto_id="worth-%s")
    return [(fact.name, shown_label(fact), form[fact.name]) for fact in chosen]


def search(traveller: Traveller) -> suspecting.Search | None:
    """Return the suspects while there is a cause to be found; nothing once it is together again."""
    if Stage(traveller.job.stage) not in _SEARCHING:
        return None
    return suspecting.search_of(traveller.record, traveller.checklist)


def findings(value: Value | None) -> list[tuple[str, str]]:
    """Return each finding with the part that it asks for."""
    words = value if isinstance(value, list) else []
    return [(word, spec_for(word)) for word in words]


def _is_nothing(value: Value | None) -> bool:
    """Whether a fact says only that there is nothing of it."""
    return value is False or value in ("none", [], ["none"])


def _in_words(value: Value) -> str:
    if value is True:
        return _("yes")
    return f"{value:g}" if isinstance(value, float) else pack_value(value)
