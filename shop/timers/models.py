"""A clock of a job. It reminds; it signs nothing, grants nothing, and is no part of the record."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job


class Timer(models.Model):
    """A clock that was started; labour has no length and runs until it is stopped."""

    TRIAL, WARM_UP, DISCHARGE, LABOUR = "trial", "warm-up", "discharge", "labour"
    KINDS = (
        (TRIAL, _("trial")),
        (WARM_UP, _("warm-up")),
        (DISCHARGE, _("wait after discharge")),
        (LABOUR, _("labour")),
    )

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="timers")
    kind = models.CharField(max_length=10, choices=KINDS)
    minutes = models.FloatField(null=True, blank=True)
    started_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["started_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["by"],
                condition=Q(kind="labour", stopped_at=None),
                name="timer_one_labour_clock_a_person",
            ),
            models.UniqueConstraint(
                fields=["job", "kind"],
                condition=Q(stopped_at=None) & ~Q(kind="labour"),
                name="timer_one_of_a_kind_a_job",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of job {self.job_id}"

    @property
    def ends_at(self) -> datetime | None:
        """When it rings; None for labour."""
        return None if self.minutes is None else self.started_at + timedelta(minutes=self.minutes)
