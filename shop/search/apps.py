"""The search app."""

from django.apps import AppConfig


class SearchConfig(AppConfig):
    """Settings of the app."""

    name = "shop.search"
    label = "search"
