"""Sound cards of the bench."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs, menu


class SoundConfig(AppConfig):
    """Settings of the app."""

    name = "shop.sound"
    label = "sound"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        job_tabs.add(_("Recording"), "recording", order=65, ability="record")
        menu.add(_("Sound card"), "sound", order=146, ability="settings", more=True)
