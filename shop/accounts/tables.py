"""Tables of accounts."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from shop.accounts.models import SignIn


class SignInTable(tables.Table):
    """Who signed in, or tried to, newest first."""

    at = tables.DateTimeColumn(format="Y-m-d H:i:s")
    name = tables.Column(verbose_name=_("Who"))
    what = tables.Column()
    how = tables.Column(default="")
    address = tables.Column(default="")
    browser = tables.Column(orderable=False, default="")

    class Meta:
        model = SignIn
        fields = ("at", "name", "what", "how", "address", "browser")
        empty_text = _("Nobody has signed in yet.")
