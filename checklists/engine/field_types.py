"""Types of single values in the tables of a pack, each with its own sentence for what is wrong."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, StringConstraints

from checklists.engine import cel
from checklists.engine.quoting import quoted
from checklists.engine.strict_tables import between, compiled, one_of
from checklists.engine.vocabulary import QUOTED_FACT, VOCABULARY
from checklists.engine.words import GATES, ROLES


def _sourced(source: str) -> str:
    if not source.strip():
        raise ValueError("is empty; name the publication or write 'common practice'.")
    return source.strip()


def facts_known(sentence: str) -> str:
    """Return the sentence; ValueError when it quotes a fact that is none."""
    for name in QUOTED_FACT.findall(sentence):
        if name not in VOCABULARY:
            raise ValueError(f"{quoted(name)} is no fact of the vocabulary.")
    return sentence


def _asked(name: str) -> str:
    fact = VOCABULARY.get(name)
    if fact is None:
        raise ValueError(f"{quoted(name)} is no fact of the vocabulary.")
    if fact.computed:
        raise ValueError(f"{name} follows from the record of the job; nobody can be asked for it.")
    return name


Name = Annotated[str, StringConstraints(min_length=1)]
Source = Annotated[str, AfterValidator(_sourced)]
Condition = Annotated[cel.Condition, compiled(cel.condition)]
Quantity = Annotated[cel.Quantity, compiled(cel.quantity)]
Gate = Annotated[str, one_of(GATES)]
PersonRole = Annotated[str, one_of(ROLES)]
Asked = Annotated[str, AfterValidator(_asked)]
Positive = Annotated[float, between(0, 10_000)]
