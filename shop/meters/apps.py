"""Readings from connected instruments."""

from django.apps import AppConfig


class MetersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.meters"
    label = "meters"
