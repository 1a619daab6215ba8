"""Tables of the desk."""

from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse_lazy
from django.utils.translation import gettext_lazy as _

from shop.customers.models import Customer
from shop.lib.web.tables import FIGURE, WHOLE_ROW, MomentColumn


class CustomerTable(tables.Table):
    """Customers with how many units of theirs were here."""

    empty_link, empty_action = reverse_lazy("receive"), _("Receive a unit")

    who = tables.Column(
        accessor="pk",
        verbose_name=_("Customer"),
        order_by=("name",),
        linkify=("customer", {"key": tables.A("pk")}),
        attrs=WHOLE_ROW,
    )
    phone = tables.Column(verbose_name=_("Telephone"), default="")
    email = tables.Column(verbose_name=_("E-mail"), default="")
    units = tables.Column(verbose_name=_("Units"), attrs=FIGURE)
    last = MomentColumn("j M Y", verbose_name=_("Last here"))

    class Meta:
        model = Customer
        fields = ("who", "phone", "email", "units", "last")
        empty_text = _("Nobody fits. Customers come with the units that are received.")

    def render_who(self, record: Customer) -> str:
        return str(record)
