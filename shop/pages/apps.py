"""The pages that compose several rooms."""

from django.apps import AppConfig

from shop.web.navigation import job_tabs, menu


class PagesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.pages"
    label = "pages"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Bench", "home", order=10)
        job_tabs.add("Job", "job", order=10)
        job_tabs.add("Trials", "trials", order=50)
        job_tabs.add("Soak", "soak", order=60)
