"""Tables of accounts."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.accounts.models import SignIn
from shop.lib.browsers import browser_name
from shop.lib.web.tables import MomentColumn


class SignInTable(tables.Table):
    """Who signed in, or tried to, newest first."""

    at = MomentColumn("j M Y, H:i", verbose_name=pgettext_lazy("column", "At"))
    name = tables.Column(verbose_name=_("Who"))
    what = tables.Column(verbose_name=pgettext_lazy("column", "What"))
    how = tables.Column(verbose_name=pgettext_lazy("column", "How"), default="")
    address = tables.Column(verbose_name=_("Address"), default="")
    browser = tables.Column(verbose_name=_("Browser"), orderable=False, default="")

    class Meta:
        model = SignIn
        fields = ("at", "name", "what", "how", "address", "browser")
        empty_text = _("Nobody has signed in yet.")

    def render_browser(self, value: str) -> str:
        """Return its name; the file keeps what it said."""
        return browser_name(value)
