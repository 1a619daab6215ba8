"""Filters of the record of sign-ins."""

from __future__ import annotations

import django_filters
from django.utils.translation import gettext_lazy as _

from shop.accounts.models import SignIn
from shop.lib.web import filters


class SignInFilter(django_filters.FilterSet):
    """By name or address, what it was, and days."""

    q = filters.Words("name", "address", label=_("Who, or from where"))
    what = filters.choice(_("What"), SignIn.WHAT)
    since = filters.day(_("From"), "at", "gte")
    until = filters.day(_("Until"), "at", "lte")

    class Meta:
        model = SignIn
        fields: tuple[str, ...] = ()
