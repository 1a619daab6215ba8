"""Instruments of the bench."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import menu


class InstrumentsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.instruments"
    label = "instruments"

    def ready(self) -> None:
        """Offer its pages to the menu."""
        menu.add(_("Instruments"), "instruments", order=145, ability="settings", more=True)
