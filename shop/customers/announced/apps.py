"""The app of announced units."""

from django.apps import AppConfig


class AnnouncedConfig(AppConfig):
    """Settings of the app."""

    name = "shop.customers.announced"
    label = "announced"
