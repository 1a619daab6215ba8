"""What a shop decides about itself."""

from django.apps import AppConfig


class PreferencesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.preferences"
    label = "preferences"
