"""Service data of models."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import menu


class ModelSheetsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.model_sheets"
    # The label under which its tables were made; it names them, and stays.
    label = "service"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(_("Models"), "models", order=90, more=True)
