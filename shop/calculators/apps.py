"""The calculations of the bench as pages, and recordings."""

from django.apps import AppConfig

from shop.web.navigation import job_tabs, menu


class CalculatorsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.calculators"
    label = "calculators"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Calculators", "calculators", order=80, more=True)
        job_tabs.add("Recording", "recording", order=65, ability="record")
