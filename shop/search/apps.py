"""What can be looked for."""

from django.apps import AppConfig

from shop.lib.web.navigation import job_tabs, menu


class SearchConfig(AppConfig):
    """Settings of the app."""

    name = "shop.search"
    label = "search"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Search", "search", order=40)
        menu.add("Scan", "scan", order=50, icon="scan")
        job_tabs.add("Similar", "similar", order=80)
