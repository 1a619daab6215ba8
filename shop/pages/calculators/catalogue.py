"""The calculators as a shop looks for them: by words, by what it uses most, by area."""

from __future__ import annotations

from contextlib import suppress
from itertools import groupby

from django.db import DatabaseError, transaction
from django.db.models import F

from shop.bench import registry
from shop.bench.calculations import Calculation
from shop.pages.models import CalculationUse

MOST_SHOWN = 6
# Until a shop has uses of its own: what comes up on most units (common practice).
USUAL = (
    "discharge",
    "lamp-limiter",
    "bias-target",
    "output-power",
    "touch-current",
    "electrolytic-condition",
)


def offered() -> list[Calculation]:
    """Return the calculators that have a page, in the order of the registry."""
    return [known for known in registry.CALCULATIONS.values() if not known.shell_only]


def found(typed: str) -> list[Calculation]:
    """Return those that have all words typed, those with them in the title first."""
    words = typed.lower().split()
    hits = [known for known in offered() if all(word in _haystack(known) for word in words)]
    return sorted(hits, key=lambda known: not all(word in known.title.lower() for word in words))


def by_area(calculations: list[Calculation]) -> list[tuple[str, list[Calculation]]]:
    """Return (area, calculators of it)."""
    return [(area, list(group)) for area, group in groupby(calculations, lambda one: one.group)]


def most_used() -> list[Calculation]:
    """Return what this shop uses most; what is usual fills up."""
    by_name = {known.name: known for known in offered()}
    counted = CalculationUse.objects.values_list("name", flat=True)[: 2 * MOST_SHOWN]
    names = [*(name for name in counted if name in by_name), *USUAL]
    return [by_name[name] for name in dict.fromkeys(names)][:MOST_SHOWN]


def count_use(name: str) -> None:
    """Count one result. A count is worth no refusal: a database that cannot write is let be."""
    with suppress(DatabaseError), transaction.atomic():
        counted = CalculationUse.objects.filter(name=name)
        if not counted.update(times=F("times") + 1):
            CalculationUse.objects.create(name=name, times=1)


def _haystack(known: Calculation) -> str:
    labels = " ".join(asked.label for asked in known.inputs.values())
    words = known.words
    told = (known.name, words.title, words.gives, words.also, known.group, labels)
    return " ".join(told).lower()
