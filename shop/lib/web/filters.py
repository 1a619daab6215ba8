"""Filters of a table, kept in the address of its page."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

LONGEST = 200
_ALL = _("all")


class TextField(forms.CharField):
    """What was typed to find something: cut where it is too long, without the null character."""

    def to_python(self, value: Any) -> str:
        """Return the words."""
        return str(super().to_python(str(value or "").replace("\0", "")[:LONGEST]))


class Words(django_filters.Filter):
    """Rows that hold every word typed, each in one of the columns `within`."""

    field_class = TextField

    def __init__(self, *within: str, label: str | Promise, **more: Any) -> None:
        super().__init__(label=label, widget=forms.TextInput({"type": "search"}), **more)
        self.within = within

    def filter(self, qs: QuerySet, value: str) -> QuerySet:
        """Return the rows that hold all words."""
        for word in (value or "").split():
            found = Q()
            for column in self.within:
                found |= Q(**{f"{column}__icontains": word})
            qs = qs.filter(found)
        return qs


def choice(label: Any, choices: Any, *, empty: Any = _ALL, **more: Any) -> Any:
    """Return a filter by one of some words; `empty` stands for none."""
    return django_filters.ChoiceFilter(label=label, choices=choices, empty_label=empty, **more)


def day(label: str | Promise, column: str, lookup: str) -> django_filters.DateFilter:
    """Return a filter by a day of the shop: `lookup` is gte (from) or lte (until), both inclusive."""
    return django_filters.DateFilter(
        field_name=column,
        lookup_expr=f"date__{lookup}",
        label=label,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
