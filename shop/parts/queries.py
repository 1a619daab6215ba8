"""Reads of parts for pages; nothing here writes."""

from __future__ import annotations

from django.db.models import F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from shop.parts.models import OrderLine, Part, Stock


def parts(wanted: str = "") -> QuerySet[Part]:
    """Return parts with `on_hand`, `free` and `on_order`; every word must be in spec, number or note."""
    found = Part.objects.annotate(
        lying=_of(Stock.objects.all(), Sum("on_hand")),
        unpromised=_of(Stock.objects.all(), Sum(F("on_hand") - F("promised"))),
        coming=_of(
            OrderLine.objects.filter(order__closed_at=None),
            Sum(F("quantity") - F("arrived") - F("given_up")),
        ),
    )
    for word in wanted.split():
        found = found.filter(
            Q(spec__icontains=word) | Q(number__icontains=word) | Q(note__icontains=word)
        )
    return found.order_by("spec")


def _of(rows: QuerySet, total: Sum) -> Coalesce:
    mine = rows.filter(part=OuterRef("pk")).order_by().values("part")
    return Coalesce(
        Subquery(mine.annotate(total=total).values("total"), output_field=IntegerField()), 0
    )
