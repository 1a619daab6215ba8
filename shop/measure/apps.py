"""The measure app: sums without a job, recordings, and what models measured before. No tables."""

from django.apps import AppConfig


class MeasureConfig(AppConfig):
    """Settings of the app."""

    name = "shop.measure"
    label = "measure"
