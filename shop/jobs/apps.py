"""Jobs, their ledgers and commands."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs, menu


class JobsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.jobs"
    label = "jobs"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job, and follow the settings of the shop."""
        from shop.jobs import receivers  # noqa: F401, PLC0415 - connects them

        menu.add(_("Jobs"), "jobs", order=20, icon="jobs")
        job_tabs.add(_("Ledger"), "ledger", order=90)
