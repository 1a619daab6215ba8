"""Tables of parts."""

from __future__ import annotations

import django_tables2 as tables

from shop.parts.models import Movement, Part, Supplier


class PartTable(tables.Table):
    """Parts and where they stand."""

    spec = tables.Column(verbose_name="Part", linkify=("part", {"number": tables.A("pk")}))
    number = tables.Column(verbose_name="Maker's number")
    stock_on_hand = tables.Column(verbose_name="In the bins")
    stock_free = tables.Column(verbose_name="Free")
    on_order = tables.Column(verbose_name="On order")

    class Meta:
        model = Part
        fields = ("spec", "number", "stock_on_hand", "stock_free", "on_order")
        empty_text = "No part fits. Take words away, or write a new part down below."


class MovementTable(tables.Table):
    """What went in and out."""

    at = tables.DateTimeColumn(format="Y-m-d H:i")
    change = tables.Column(verbose_name="Pieces")
    why = tables.Column()
    bin = tables.Column(accessor="stock__bin", verbose_name="Bin", orderable=False)
    balance = tables.Column(verbose_name="Then there")
    job = tables.Column(linkify=("job", {"number": tables.A("job")}))
    by = tables.Column()
    note = tables.Column(orderable=False)

    class Meta:
        model = Movement
        fields = ("at", "change", "why", "bin", "balance", "job", "by", "note")
        empty_text = "Nothing has gone in or out yet."

    def render_change(self, value: int) -> str:
        return f"{value:+d}"


class SupplierTable(tables.Table):
    """Suppliers and their terms."""

    name = tables.Column(linkify=("supplier", {"number": tables.A("pk")}))
    usual_days = tables.Column(verbose_name="Days")
    free_above = tables.Column(verbose_name="Free from")
    minimum = tables.Column(verbose_name="Least order")

    class Meta:
        model = Supplier
        fields = ("name", "postage", "free_above", "minimum", "usual_days")
        empty_text = "No supplier yet. Write one down below: baskets need their terms."
