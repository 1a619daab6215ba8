"""What can be looked for."""

from django.apps import AppConfig
from django.utils.translation import pgettext_lazy

from shop.lib.web.navigation import job_tabs, menu


class SearchConfig(AppConfig):
    """Settings of the app."""

    name = "shop.search"
    label = "search"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(pgettext_lazy("menu", "Search"), "search", order=40)
        menu.add(pgettext_lazy("menu", "Scan"), "scan", order=50, icon="scan")
        job_tabs.add(pgettext_lazy("tab of a job", "Similar"), "similar", order=80)
