"""The accounts app."""

from importlib import import_module

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import menu


class AccountsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Listen for people who sign in and out, and offer the page of them; models are there only now."""
        menu.add(_("People"), "people", order=145, ability="persons", more=True)
        import_module("shop.accounts.sign_in_log")
