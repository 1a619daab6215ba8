"""What is agreed with the customer."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs


class EstimatesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.estimates"
    label = "estimates"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        job_tabs.add(_("Estimate"), "estimate", order=30)
