"""The backlog app: what waits, for what, and what could be done about it. It has no tables."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Settings of the app."""

    name = "shop.planning"
    label = "planning"
