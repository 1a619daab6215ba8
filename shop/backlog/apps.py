"""The backlog app: what waits, for what, and what could be done about it. It has no tables."""

from django.apps import AppConfig


class BacklogConfig(AppConfig):
    """Settings of the app."""

    name = "shop.backlog"
    label = "backlog"
