"""The photos app."""

from django.apps import AppConfig


class PhotosConfig(AppConfig):
    """Settings of the app."""

    name = "shop.photos"
    label = "photos"
