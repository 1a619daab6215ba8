"""The post app."""

from django.apps import AppConfig


class PostConfig(AppConfig):
    """Settings of the app."""

    name = "shop.post"
    label = "post"
