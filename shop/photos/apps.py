"""Pictures of units, parcels, findings and steps."""

from django.apps import AppConfig

from shop.lib.web.navigation import job_tabs


class PhotosConfig(AppConfig):
    """Settings of the app."""

    name = "shop.photos"
    label = "photos"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        job_tabs.add("Pictures", "photos", order=40)
