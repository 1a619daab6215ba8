"""Types of the bodies that take words of closed lists: the document names them, the command reads them.

The command says what is wrong with a word, in the sentence that page and shell have too.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any

from pydantic import WithJsonSchema

from checklists.engine import judging
from checklists.engine.vocabulary import LONGEST_LIST, VOCABULARY, Fact
from shop.accounts import roles
from shop.jobs import facts
from shop.jobs.commands import intakes
from shop.jobs.stages import Cover, Power, Stage, Waiting

_TYPES = {"string": "string", "bool": "boolean", "int": "integer", "double": "number"}


def _one_of(words: Iterable[str]) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "enum": [str(word) for word in words]})


def _described(fact: Fact) -> dict[str, Any]:
    words = {"type": "string", "enum": list(fact.words)}
    if fact.kind == "list":
        return {"type": "array", "items": words, "maxItems": LONGEST_LIST}
    if fact.kind == "string":
        return words
    bounds = {} if fact.kind == "bool" else {"minimum": fact.low, "maximum": fact.high}
    unit = {"description": fact.unit} if fact.unit else {}
    return {"type": _TYPES[fact.kind], **bounds, **unit}


_TOLD = {fact.name: fact for fact in facts.TYPED}
_AT_INTAKE = _TOLD | {name: VOCABULARY[name] for name in intakes.TYPED_AT_INTAKE}

StageWord = Annotated[str, _one_of(Stage)]
PowerWord = Annotated[str, _one_of(Power)]
CoverWord = Annotated[str, _one_of(Cover)]
WaitingWord = Annotated[str, _one_of(Waiting)]
RoleWord = Annotated[str, _one_of(roles.ROLES)]
ResultWord = Annotated[str, _one_of(judging.RESULTS)]
FactName = Annotated[str, _one_of(_TOLD)]
Facts = Annotated[
    dict[str, Any],
    WithJsonSchema(
        {
            "type": "object",
            "properties": {name: _described(fact) for name, fact in _AT_INTAKE.items()},
            "additionalProperties": False,
        }
    ),
]
