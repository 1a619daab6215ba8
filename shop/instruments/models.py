"""Instruments, how accurate they are, and which one somebody used last."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import User
from django.db import models

from checklists.engine.words import MEASURED


class Instrument(models.Model):
    """A meter or tester of the shop. One that is retired is kept, for what it measured."""

    name = models.CharField(max_length=80, unique=True)
    make_model = models.CharField(max_length=120, blank=True)
    serial = models.CharField(max_length=120, blank=True)
    calibrated_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def overdue(self, on: date) -> bool:
        """Whether its calibration was due before this day."""
        return self.due_on is not None and self.due_on < on


class Accuracy(models.Model):
    """How far an instrument may be off on one range; amounts in units without a prefix.

    `measures` is a word of MEASURED. Off by so much: percent of the reading, percent of the
    range, and counts of the last digit (`resolution`), together.
    """

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="accuracies")
    measures = models.CharField(max_length=30)
    up_to = models.FloatField()
    reading_percent = models.FloatField(default=0)
    range_percent = models.FloatField(default=0)
    counts = models.FloatField(default=0)
    resolution = models.FloatField(default=0)

    class Meta:
        ordering = ["instrument", "measures", "up_to"]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument", "measures", "up_to"], name="accuracy_once_per_range"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measures} up to {self.up_to:g} {self.unit}"

    @property
    def unit(self) -> str:
        """The unit without a prefix; empty for a word of another edition."""
        return MEASURED.get(self.measures, ("", ""))[1]


class LastUsed(models.Model):
    """The instrument that somebody used last for what it measures."""

    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    measures = models.CharField(max_length=30)
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["by", "measures"], name="last_used_once"),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} for {self.measures}"
