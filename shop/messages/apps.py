"""The post app."""

from django.apps import AppConfig


class MessagesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.messages"
    # The label under which its tables were made; it names tables and stays.
    label = "post"
