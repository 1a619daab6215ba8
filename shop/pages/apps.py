"""The pages that compose several rooms."""

from django.apps import AppConfig

from shop.lib.web.navigation import job_tabs, menu


class PagesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.pages"
    label = "pages"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Bench", "home", order=10, icon="bench")
        job_tabs.add("Act", "job", order=10, icon="act")
        job_tabs.add("List", "job-list", order=12, icon="list")
        job_tabs.add("Write", "job-write", order=14, ability="note", icon="write")
        job_tabs.add("Unit", "job-unit", order=16, icon="unit")
        job_tabs.add("Parts", "job-parts", order=32)
        job_tabs.add("Causes", "causes", order=45)
        job_tabs.add("Trials", "trials", order=50)
        job_tabs.add("Soak", "soak", order=60)
        menu.add("Calculators", "calculators", order=80, more=True)
        menu.add("Rules", "rules", order=140, more=True)
        menu.add("Settings", "settings", order=150, ability="settings", more=True)
