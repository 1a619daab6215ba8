"""Filters of the list of customers."""

from __future__ import annotations

import django_filters

from shop.customers.models import Customer, Intake
from shop.lib.web import filters


class CustomerFilter(django_filters.FilterSet):
    """By words, and by whether a unit of theirs is here."""

    q = filters.Words("name", "email", "phone", label="Find a customer")
    here = filters.choice(
        "Units",
        [("yes", "here now")],
        # The count of all units stays: the open one is asked for beside it.
        method=lambda qs, _, __: qs.filter(
            pk__in=Intake.objects.filter(job__closed_at=None).values("customer")
        ),
    )

    class Meta:
        model = Customer
        fields: tuple[str, ...] = ()
