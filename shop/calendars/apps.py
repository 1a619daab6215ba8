"""Calendars."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import account_links


class CalendarsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.calendars"
    label = "calendars"

    def ready(self) -> None:
        """Offer its page to the account."""
        account_links.add(_("The shop's days in your calendar"), "calendar", order=15)
