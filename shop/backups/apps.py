"""Backups of the whole database."""

from django.apps import AppConfig


class BackupsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.backups"
    label = "backups"
