"""Inputs of sound cards, and the volts that their full scale stands for."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.utils import timezone

LONGEST_NAME, LONGEST_SETTING = 80, 200


class SoundInput(models.Model):
    """An input at one setting: card, socket, gain, attenuator. One that is retired is kept.

    `full_scale_volts`: r.m.s. of a full-scale sine at the clips, before the attenuator.
    """

    name = models.CharField(max_length=LONGEST_NAME, unique=True)
    setting = models.CharField(max_length=LONGEST_SETTING, blank=True)
    full_scale_volts = models.FloatField()
    # How it was calibrated: by a tone that a meter read, or told.
    tone_volts = models.FloatField(null=True, blank=True)
    calibrated_at = models.DateTimeField()
    calibrated_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(full_scale_volts__gt=0), name="sound_input_has_volts"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def volts(self) -> str:
        """Full scale as people read it."""
        return f"{self.full_scale_volts:.4g} V"

    @property
    def as_source(self) -> str:
        """What a reading says of it: name, day of the calibration, volts."""
        day = timezone.localtime(self.calibrated_at)
        return f"sound card {self.name}, calibrated {day:%-d %B %Y}, full scale {self.volts}"
