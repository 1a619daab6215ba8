"""What waits, what to order, when it will be done."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.lib.web.navigation import menu


class PlanningConfig(AppConfig):
    """Settings of the app."""

    name = "shop.planning"
    label = "planning"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(_("Waiting"), "backlog", order=60)
        menu.add(pgettext_lazy("menu", "Flow"), "flow", order=100, more=True)
