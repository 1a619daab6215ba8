"""What all pages share."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Settings of the app."""

    name = "shop.lib.web"
    label = "web"
