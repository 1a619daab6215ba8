"""Filters of the list of customers."""

from __future__ import annotations

import django_filters
from django.utils.translation import gettext_lazy as _

from shop.customers.models import Customer, Intake
from shop.lib.web import filters


class CustomerFilter(django_filters.FilterSet):
    """By words, and by whether a unit of theirs is here."""

    q = filters.Words("name", "email", "phone", label=_("Find a customer"))
    here = filters.choice(
        _("Units"),
        [("yes", _("here now"))],
        # The count of all units stays: the open one is asked for beside it.
        method=lambda qs, _, __: qs.filter(
            pk__in=Intake.objects.filter(job__closed_at=None).values("customer")
        ),
    )

    class Meta:
        model = Customer
        fields: tuple[str, ...] = ()
