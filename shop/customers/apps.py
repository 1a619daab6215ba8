"""The desk app."""

from django.apps import AppConfig


class CustomersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.customers"
    # The label under which its tables were made; it names tables and stays.
    label = "desk"
