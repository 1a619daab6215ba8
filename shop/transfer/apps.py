"""Export and import."""

from django.apps import AppConfig

from shop.lib.web.navigation import menu


class TransferConfig(AppConfig):
    """Settings of the app."""

    name = "shop.transfer"
    label = "transfer"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Export", "export", order=150, ability="persons", more=True)
