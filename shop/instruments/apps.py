"""Instruments of the bench."""

from django.apps import AppConfig

from shop.lib.web.navigation import menu


class InstrumentsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.instruments"
    label = "instruments"

    def ready(self) -> None:
        """Offer its pages to the menu."""
        menu.add("Instruments", "instruments", order=145, ability="settings", more=True)
