"""The watch app."""

from django.apps import AppConfig


class RemindersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.reminders"
    # The label under which its tables were made; it names tables and stays.
    label = "watch"
