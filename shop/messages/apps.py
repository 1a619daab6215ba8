"""Messages to customers."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs, menu


class MessagesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.messages"
    # The label under which its tables were made; it names them, and stays.
    label = "post"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        from shop.jobs.next_act import afterwards as left  # noqa: PLC0415
        from shop.messages import afterwards, receivers  # noqa: F401, PLC0415 - connects them

        left.add("tell", afterwards.tell, order=10, title=afterwards.TELL, jobs=afterwards.to_tell)
        left.add("pack", afterwards.pack, order=20, title=afterwards.PACK, jobs=afterwards.to_pack)
        menu.add(_("Messages"), "outbox", order=120, ability="note", more=True)
        job_tabs.add(_("Customer"), "customer-side", order=20, ability="note", icon="person")
