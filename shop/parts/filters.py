"""Filters of parts, suppliers, and what went in and out."""

from __future__ import annotations

from typing import Any

import django_filters
from django.utils.translation import gettext_lazy as _

from shop.lib.web import filters
from shop.parts.models import Movement, Part, Supplier
from shop.parts.tables import moved

_STOCK = {
    "stock": (_("in stock"), {"stock_on_hand__gt": 0}),
    "free": (_("free pieces"), {"stock_free__gt": 0}),
    "none": (_("none in stock"), {"stock_on_hand": 0}),
    "ordered": (_("on order"), {"on_order__gt": 0}),
}


class PartFilter(django_filters.FilterSet):
    """By words, and by where a part stands."""

    q = filters.Words("spec", "number", "note", label=_("Find a part"))
    stock = filters.choice(
        _("Stock"),
        [(key, words) for key, (words, _) in _STOCK.items()],
        method=lambda qs, _, value: qs.filter(**_STOCK[value][1]),
    )

    class Meta:
        model = Part
        fields: tuple[str, ...] = ()


class SupplierFilter(django_filters.FilterSet):
    """By words."""

    q = filters.Words("name", "note", label=_("Find a supplier"))

    class Meta:
        model = Supplier
        fields: tuple[str, ...] = ()


class _Why(django_filters.AllValuesFilter):
    """One of the reasons that there are, in the language of the page."""

    @property
    def field(self) -> Any:
        field = super().field
        field.choices = [(why, moved(why)) for why, _same in self.extra["choices"]]
        return field


class MovementFilter(django_filters.FilterSet):
    """By reason and by days."""

    why = _Why(label=_("Why"), empty_label=_("all"))
    since = filters.day(_("From"), "at", "gte")
    until = filters.day(_("Until"), "at", "lte")

    class Meta:
        model = Movement
        fields: tuple[str, ...] = ()
