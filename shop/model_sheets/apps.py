"""The service app: what the service data of a model says, and where it says so."""

from django.apps import AppConfig


class ModelSheetsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.model_sheets"
    # The label under which its tables were made; it names tables and stays.
    label = "service"
