"""The parts app."""

from django.apps import AppConfig


class PartsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.parts"
    label = "parts"
