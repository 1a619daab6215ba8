"""Taking a unit in."""

from django.apps import AppConfig
from django.utils.translation import pgettext_lazy

from shop.lib.web.navigation import menu


class IntakeConfig(AppConfig):
    """Settings of the app."""

    name = "shop.intake"
    label = "intake"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(
            pgettext_lazy("menu", "Receive"), "receive", order=30, ability="receive", icon="receive"
        )
