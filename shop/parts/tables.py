"""Tables of parts."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.lib.web.tables import FIGURE, WHOLE_ROW, MomentColumn
from shop.parts.models import Movement, Part, Supplier


class PartTable(tables.Table):
    """Parts and where they stand."""

    empty_link, empty_action = "#new", _("Add a part")

    spec = tables.Column(
        verbose_name=_("Part"), linkify=("part", {"number": tables.A("pk")}), attrs=WHOLE_ROW
    )
    number = tables.Column(verbose_name=_("Maker's number"), default="")
    stock_on_hand = tables.Column(verbose_name=_("In stock"), attrs=FIGURE)
    stock_free = tables.Column(verbose_name=_("Free"), attrs=FIGURE)
    on_order = tables.Column(verbose_name=_("On order"), attrs=FIGURE)

    class Meta:
        model = Part
        fields = ("spec", "number", "stock_on_hand", "stock_free", "on_order")
        empty_text = _("No part fits. Take words away, or add the part.")


_MOVED = {
    "arrived": pgettext_lazy("pieces", "arrived"),
    "bought": pgettext_lazy("pieces", "bought"),
    "counted": pgettext_lazy("pieces", "counted"),
    "fitted": pgettext_lazy("pieces", "fitted"),
    "released": pgettext_lazy("pieces", "released"),
    "sent-back": pgettext_lazy("pieces", "sent-back"),
}


def moved(why: str) -> str:
    """Return why pieces moved, in the language of the page."""
    return str(_MOVED.get(why, why))


class MovementTable(tables.Table):
    """What went in and out."""

    at = MomentColumn("j M Y, H:i", verbose_name=_("When"))
    change = tables.Column(verbose_name=_("Pieces"), attrs=FIGURE)
    why = tables.Column(verbose_name=pgettext_lazy("column", "Why"))
    bin = tables.Column(accessor="stock__bin", verbose_name=_("Bin"), orderable=False)
    balance = tables.Column(verbose_name=_("Then there"), attrs=FIGURE)
    job = tables.Column(verbose_name=_("Job"), linkify=("job", {"number": tables.A("job")}))
    by = tables.Column(verbose_name=pgettext_lazy("column", "By"))
    note = tables.Column(verbose_name=_("Note"), orderable=False)

    class Meta:
        model = Movement
        fields = ("at", "change", "why", "bin", "balance", "job", "by", "note")
        empty_text = _("Nothing has gone in or out yet.")

    def render_why(self, value: str) -> str:
        return moved(value)

    def render_change(self, value: int) -> str:
        return f"{value:+d}"

    def value_change(self, value: int) -> int:
        return value


class SupplierTable(tables.Table):
    """Suppliers and their terms."""

    empty_link, empty_action = "#new", _("Add a supplier")

    name = tables.Column(
        verbose_name=_("Name"), linkify=("supplier", {"number": tables.A("pk")}), attrs=WHOLE_ROW
    )
    postage = tables.Column(verbose_name=_("Postage"), attrs=FIGURE)
    free_above = tables.Column(verbose_name=_("Free from"), attrs=FIGURE)
    minimum = tables.Column(verbose_name=_("Smallest order"), attrs=FIGURE)
    usual_days = tables.Column(verbose_name=_("Days"), attrs=FIGURE)

    class Meta:
        model = Supplier
        fields = ("name", "postage", "free_above", "minimum", "usual_days")
        empty_text = _("No supplier yet. An order needs one, with its terms.")
