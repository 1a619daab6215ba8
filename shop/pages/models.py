"""What the pages keep for themselves."""

from __future__ import annotations

from django.db import models


class CalculationUse(models.Model):
    """How often a calculator gave a result here, so that the most used come first."""

    name = models.CharField(max_length=80, primary_key=True)
    times = models.PositiveIntegerField(default=0)

    class Meta:
        app_label = "pages"
        ordering = ("-times", "name")

    def __str__(self) -> str:
        return f"{self.name}: {self.times}"
