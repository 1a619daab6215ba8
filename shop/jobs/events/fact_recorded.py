"""A fact of the unit or the complaint, as the vocabulary of the rules has it."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Any, Self, TypeGuard

from django.utils.translation import gettext as _
from pydantic import Field, model_validator

from checklists.engine import history
from checklists.engine.vocabulary import OTHER, VOCABULARY, FactError, Value, accept_one
from shop.jobs.events import stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.fields import Text
from shop.jobs.ledger import AnyRow
from shop.jobs.models import data_of
from shop.jobs.record import Record
from shop.lib.refusals import BadInput, Refusal, bad

_SYMPTOMS = "complaint.symptoms"
_NAMES: list[Any] = [name for name, fact in VOCABULARY.items() if not fact.computed]


class FactRecorded(Event):
    """A fact of the vocabulary; the last value recorded counts."""

    event_type = "fact_recorded"
    filled_in = frozenset({"source"})

    name: Annotated[str, Text(100), Field(json_schema_extra={"enum": _NAMES})]
    value: Any
    # Where it comes from, when nobody typed it in: a model sheet.
    source: str | None = None

    @model_validator(mode="after")
    def _fits_the_vocabulary(self) -> Self:
        fact = VOCABULARY.get(self.name)
        if fact is not None and fact.computed:
            follows = _("{name} follows from the record of the job; it is not typed in.").format(
                name=self.name
            )
            raise bad(self.name, follows)
        try:
            self.value = accept_one(self.name, self.value)
        except FactError as error:
            raise BadInput(error.problems) from None
        return self

    def check(self, tx: Transaction) -> list[Refusal]:
        """Nothing against it; another symptom stands in the words of the complaint."""
        if self.name == _SYMPTOMS and OTHER in self.value and not tx.job.complaint:
            raise bad(
                "complaint",
                _("complaint is empty; {symptoms} has other, so say what it is.").format(
                    symptoms=_SYMPTOMS
                ),
            )
        return []

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Say which fact, and its value."""
        name, value = _told(row.body)
        return cls.happened(row, fact=name, value=value)

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep the value; one that cannot be read leaves the fact unknown."""
        name, value = _told(row.body)
        if value is None:
            record.recorded_facts.pop(name, None)
        else:
            record.recorded_facts[name] = value


# A record is reduced at every move, and most of its rows are facts of the unit.
@lru_cache(maxsize=4096)
def _told(body: str) -> tuple[str, Value | None]:
    """Return the fact and its value; None for a value that cannot be read."""
    data = data_of(body)
    value = data.get("value")
    return stored.needed_text(data, "name"), value if _is_value(value) else None


def _is_value(value: Any) -> TypeGuard[Value]:
    if isinstance(value, list):
        return all(isinstance(word, str) for word in value)
    return isinstance(value, str | bool | int | float)
