"""The desk app."""

from django.apps import AppConfig


class DeskConfig(AppConfig):
    """Settings of the app."""

    name = "shop.desk"
    label = "desk"
