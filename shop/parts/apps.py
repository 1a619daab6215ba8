"""Parts, stock, suppliers and orders."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import menu


class PartsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.parts"
    label = "parts"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(_("Parts"), "parts", order=70, more=True)
