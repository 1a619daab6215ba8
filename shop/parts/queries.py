"""Reads of parts for pages; nothing here writes."""

from __future__ import annotations

from django.db.models import F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from shop.parts.models import OrderLine, Part, Stock


def parts(wanted: str = "") -> QuerySet[Part]:
    """Return parts with `stock_on_hand`, `stock_free` and `on_order`; every word must be in spec, number or note."""
    rows = Part.objects.annotate(
        stock_on_hand=_sum_of(Stock.objects.all(), Sum("on_hand")),
        stock_free=_sum_of(Stock.objects.all(), Sum(F("on_hand") - F("reserved"))),
        on_order=_sum_of(
            OrderLine.objects.filter(order__closed_at=None),
            Sum(F("quantity") - F("arrived") - F("given_up")),
        ),
    )
    for word in wanted.split():
        rows = rows.filter(
            Q(spec__icontains=word) | Q(number__icontains=word) | Q(note__icontains=word)
        )
    return rows.order_by("spec")


def _sum_of(rows: QuerySet, total: Sum) -> Coalesce:
    of_part = rows.filter(part=OuterRef("pk")).order_by().values("part")
    return Coalesce(
        Subquery(of_part.annotate(total=total).values("total"), output_field=IntegerField()), 0
    )
