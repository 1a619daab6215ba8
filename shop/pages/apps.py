"""The pages that compose several rooms."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.lib.web.navigation import job_tabs, menu


class PagesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.pages"
    label = "pages"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add(_("Bench"), "home", order=10, icon="bench")
        job_tabs.add(pgettext_lazy("tab of a job", "Act"), "job", order=10, icon="act")
        job_tabs.add(pgettext_lazy("tab of a job", "List"), "job-list", order=12, icon="list")
        job_tabs.add(
            pgettext_lazy("tab of a job", "Write"),
            "job-write",
            order=14,
            ability="note",
            icon="write",
        )
        job_tabs.add(_("Unit"), "job-unit", order=16, icon="unit")
        job_tabs.add(_("Parts"), "job-parts", order=32)
        job_tabs.add(_("Causes"), "causes", order=45)
        job_tabs.add(_("Trials"), "trials", order=50)
        job_tabs.add(_("Soak"), "soak", order=60)
        menu.add(_("Calculators"), "calculators", order=80, more=True)
        menu.add(_("Rules"), "rules", order=140, more=True)
        menu.add(_("Settings"), "settings", order=150, ability="settings", more=True)
