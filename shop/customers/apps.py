"""Customers, and how their units came."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import menu


class CustomersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.customers"
    # The label under which its tables were made; it names them, and stays.
    label = "desk"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(_("Customers"), "customers", order=110, ability="note", more=True)
