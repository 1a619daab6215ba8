"""Papers as PDF."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs


class DocumentsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.documents"
    label = "documents"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        job_tabs.add(_("Papers"), "papers", order=70)
