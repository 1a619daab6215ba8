"""Pages of the rules in force and of the shop's own."""

from django.apps import AppConfig

from shop.web.navigation import menu


class RulebookConfig(AppConfig):
    """Settings of the app."""

    name = "shop.rulebook"
    label = "rulebook"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Rules", "rules", order=140, more=True)
