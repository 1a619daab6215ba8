"""Filters of the record of sign-ins."""

from __future__ import annotations

import django_filters

from shop.accounts.models import SignIn
from shop.lib.web import filters


class SignInFilter(django_filters.FilterSet):
    """By name or address, what it was, and days."""

    q = filters.Words("name", "address", label="Who, or from where")
    what = filters.choice("What", SignIn.WHAT)
    since = filters.day("From", "at", "gte")
    until = filters.day("Until", "at", "lte")

    class Meta:
        model = SignIn
        fields: tuple[str, ...] = ()
