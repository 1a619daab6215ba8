"""Words of calculations for the catalogues: titles, what they give, and what their figures are called.

gettext cannot find them: they are made from the names of inputs and results.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import get_type_hints

from babel.messages.catalog import Catalog

from shop.bench import registry
from shop.bench.audio import signals
from shop.bench.calculations import Calculation
from shop.bench.units import spoken
from shop.lib.calculator_words import CONTEXT

_FILE = "shop/bench/registry.py"


def added(catalog: Catalog) -> Catalog:
    """Add the words of all calculations that have a page to a template."""
    for calculation in registry.CALCULATIONS.values():
        if not calculation.shell_only:
            for words in _words(calculation):
                # No line: it would change with every other line of the file.
                catalog.add(words, locations=[(_FILE, None)], context=CONTEXT)
    for words in ("yes", "no", "not known"):
        catalog.add(words, locations=[("shop/bench/formatting.py", None)], context=CONTEXT)
    for kind in signals.KINDS.values():
        catalog.add(kind.title, locations=[("shop/bench/audio/signals.py", None)], context=CONTEXT)
    return catalog


def _words(calculation: Calculation) -> Iterator[str]:
    yield from (calculation.title, calculation.does, calculation.group)
    yield from filter(None, calculation.words.first_by_key.values())
    for asked in calculation.inputs.values():
        yield from (spoken(asked.name), *(str(word) for word in asked.words))
    result = get_type_hints(getattr(calculation.function, "func", calculation.function))["return"]
    if is_dataclass(result):
        yield from (spoken(figure.name) for figure in fields(result))
