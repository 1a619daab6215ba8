"""The api app."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import account_links


class ApiConfig(AppConfig):
    """Settings of the app."""

    name = "shop.api"
    label = "api"

    def ready(self) -> None:
        """Offer its page to the account."""
        account_links.add(_("Tokens for programs"), "tokens", order=20)
