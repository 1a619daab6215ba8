"""The service app: what the service data of a model says, and where it says so."""

from django.apps import AppConfig


class ServiceConfig(AppConfig):
    """Settings of the app."""

    name = "shop.service"
    label = "service"
