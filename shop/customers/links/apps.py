"""The link app."""

from django.apps import AppConfig


class LinksConfig(AppConfig):
    """Settings of the app."""

    name = "shop.customers.links"
    # The label under which its tables were made; it names tables and stays.
    label = "link"
