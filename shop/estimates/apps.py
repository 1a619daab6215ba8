"""The estimates app."""

from django.apps import AppConfig


class EstimatesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.estimates"
    label = "estimates"
