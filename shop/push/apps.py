"""Web push."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import account_links


class PushConfig(AppConfig):
    """Settings of the app."""

    name = "shop.push"
    label = "push"

    def ready(self) -> None:
        """Offer its page to the account, where the library is installed."""
        from shop.push import keys  # noqa: PLC0415

        if keys.library_is_here():
            account_links.add(_("Messages to this browser"), "push", order=12)
