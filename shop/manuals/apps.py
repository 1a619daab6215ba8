"""Manuals, schematics and data sheets."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs, part_links


class ManualsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.manuals"
    label = "manuals"

    def ready(self) -> None:
        """Offer its pages to the job and to the part."""
        job_tabs.add(_("Manuals"), "job-manuals", order=45)
        part_links.add(_("Data sheets"), "part-manuals", order=20)
