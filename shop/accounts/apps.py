"""The accounts app."""

from importlib import import_module

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Listen for people who sign in and out; models are there only now."""
        import_module("shop.accounts.sign_in_log")
