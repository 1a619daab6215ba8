"""Pictures of units, parcels, findings and steps."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs


class PhotosConfig(AppConfig):
    """Settings of the app."""

    name = "shop.photos"
    label = "photos"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        job_tabs.add(_("Pictures"), "photos", order=40)
