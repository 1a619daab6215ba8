"""Model sheets: the service data of a make and model, each figure with its source."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.db import models


class ModelSheet(models.Model):
    """The sheet of one make and model."""

    make = models.CharField(max_length=120)
    model = models.CharField(max_length=120)

    class Meta:
        ordering = ["make", "model"]
        constraints = [
            models.UniqueConstraint(fields=["make", "model"], name="sheet_once_per_model"),
        ]

    def __str__(self) -> str:
        return f"{self.make} {self.model}"


class Figure(models.Model):
    """One figure: a fact of the vocabulary by its name, or anything else by a name of one's own."""

    sheet = models.ForeignKey(ModelSheet, on_delete=models.CASCADE, related_name="figures")
    name = models.CharField(max_length=100)
    value: Any = models.JSONField()
    source = models.CharField(max_length=300)
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["sheet", "name"], name="figure_once_per_sheet"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.sheet}"
