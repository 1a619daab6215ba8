"""The watch app."""

from django.apps import AppConfig


class WatchConfig(AppConfig):
    """Settings of the app."""

    name = "shop.watch"
    label = "watch"
