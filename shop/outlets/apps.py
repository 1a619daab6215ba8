"""Outlets on the network."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs, menu


class OutletsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.outlets"
    label = "outlets"

    def ready(self) -> None:
        """Offer its pages, and what outlets report to every page, once a shop has outlets."""
        from shop.jobs import live_units  # noqa: PLC0415 - it needs models, which come later
        from shop.outlets import queries  # noqa: PLC0415

        live_units.NOTICES.append(queries.notices)
        when = queries.are_set_up
        menu.add(_("Outlets"), "outlets", order=146, more=True, when=when)
        job_tabs.add(_("Outlet"), "job-outlet", order=80, when=when)
