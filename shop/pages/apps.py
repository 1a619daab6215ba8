"""The pages that compose several rooms."""

from django.apps import AppConfig

from shop.lib.web.navigation import job_tabs, menu


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
        menu.add("Calculators", "calculators", order=80, more=True)
        menu.add("Rules", "rules", order=140, more=True)
        menu.add("Settings", "settings", order=150, ability="settings", more=True)
        job_tabs.add("Recording", "recording", order=65, ability="record")
