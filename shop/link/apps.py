"""The link app."""

from django.apps import AppConfig


class LinkConfig(AppConfig):
    """Settings of the app."""

    name = "shop.link"
    label = "link"
