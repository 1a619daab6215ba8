"""At which job an instrument is, and which soak it logs. It is no part of the record."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models

from shop.instruments.models import Instrument
from shop.jobs.models import Job


class Claim(models.Model):
    """An instrument that is at a job: until it is released, the job closes, or its time is over."""

    instrument = models.OneToOneField(Instrument, on_delete=models.CASCADE, related_name="+")
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    until = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.instrument} at job {self.job_id}"


class SoakLog(models.Model):
    """An instrument that logs one quantity of a job's soak at the times that are planned.

    `next_minute` is the first planned time that it has not dealt with, in minutes from the start
    of the soak that began at `began`; None before one runs. `why`: what came of the last try.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="+")
    quantity = models.CharField(max_length=30)
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    chosen_at = models.DateTimeField()
    began = models.DateTimeField(null=True, blank=True)
    next_minute = models.FloatField(default=0)
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["job", "quantity"]
        constraints = [
            models.UniqueConstraint(fields=["job", "quantity"], name="soak_log_once_a_quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of job {self.job_id} by {self.instrument}"
