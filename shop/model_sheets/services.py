"""Writing model sheets, and the facts that a new job of a model starts with."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext

from checklists.engine.vocabulary import VOCABULARY, FactError, Value, accept_one
from shop.accounts import roles
from shop.lib import text
from shop.lib.prepared import PreparedRows
from shop.lib.refusals import BadInput, bad
from shop.model_sheets.models import Figure, ModelSheet


def get_or_create_sheet(make: str, model: str, *, by: User) -> ModelSheet:
    """Return the sheet of a make and model, made when there is none; BadInput for an empty name."""
    roles.require(by, "record")
    kept_make = text.take("make", make, 120, needed=True)
    kept_model = text.take("model", model, 120, needed=True)
    return ModelSheet.objects.get_or_create(make=kept_make, model=kept_model)[0]


@transaction.atomic
def save_figure(
    sheet: ModelSheet, name: str, value: object, source: str, *, by: User, at: datetime
) -> Figure:
    """Write a figure with its source, in place of the one of that name.

    A name of the vocabulary about the unit takes a value of that type; any other name takes
    text. BadInput with a sentence; no figure stands without a source.
    """
    roles.require(by, "record")
    label = text.take("name", name, 100, needed=True)
    kept_source = text.take("source", source, 300, needed=True)
    fact = VOCABULARY.get(label)
    if fact is not None and (fact.computed or not label.startswith("unit.")):
        raise bad(
            "name",
            gettext("name is {label}; a model sheet holds facts about the unit.").format(
                label=label
            ),
        )
    figure, _ = Figure.objects.update_or_create(
        sheet=sheet,
        name=label,
        defaults={
            "value": _value(label, value) if fact else text.take("value", value, 2000, needed=True),
            "source": kept_source,
            "by": by,
            "at": at,
        },
    )
    return figure


def _value(name: str, value: object) -> Value:
    try:
        return accept_one(name, value)
    except FactError as error:
        raise BadInput(error.problems) from None


def delete_figure(sheet: ModelSheet, name: str, *, by: User) -> None:
    """Take a figure off the sheet."""
    roles.require(by, "record")
    Figure.objects.filter(sheet=sheet, name=name).delete()


_SHEETS = PreparedRows(
    lambda make, model: ModelSheet.objects.filter(make=make, model=model), str, str, columns=["id"]
)


def facts_for(make: str, model: str) -> dict[str, tuple[Value, str]]:
    """Return the facts that a unit of this model starts with, each with its source.

    Most models have no sheet, and every line of an import asks: one query that is built once.
    A figure that the vocabulary no longer takes is left out: unknown, never wrong.
    """
    facts: dict[str, tuple[Value, str]] = {}
    sheets = [key for (key,) in _SHEETS(make, model)] if make and model else []
    for figure in Figure.objects.filter(sheet__in=sheets) if sheets else ():
        try:
            facts[figure.name] = (accept_one(figure.name, figure.value), figure.source)
        except FactError:
            continue
    return facts
