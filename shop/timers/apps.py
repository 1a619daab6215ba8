"""Clocks of jobs."""

from django.apps import AppConfig


class TimersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.timers"
    label = "timers"
