"""The measure app: sums without a job, recordings, and what models measured before. No tables."""

from django.apps import AppConfig


class CalculatorsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.calculators"
    label = "calculators"
