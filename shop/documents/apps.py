"""Papers as PDF."""

from django.apps import AppConfig

from shop.lib.web.navigation import job_tabs


class DocumentsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.documents"
    label = "documents"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        job_tabs.add("Papers", "papers", order=70)
