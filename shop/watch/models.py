"""Reminders."""

from __future__ import annotations

from django.db import models

from shop.jobs.models import Job


class Reminder(models.Model):
    """Something somebody should look at. Unique on (job, cause, rung): run twice, said once."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="reminders")
    cause = models.CharField(max_length=80)
    rung = models.PositiveSmallIntegerField(default=1)
    sentence = models.CharField(max_length=400)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "cause", "rung"], name="reminder_said_once"),
        ]

    def __str__(self) -> str:
        return self.sentence
