"""What lists across jobs need of the ledgers, kept by every command in its own transaction.

The ledger stays the truth: these rows are written anew from it and never by anybody else.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from shop.parts.models import Part


class JobPart(models.Model):
    """A part that a job needs, as its ledger has it; `need` is the sequence of the ledger row."""

    job = models.ForeignKey("jobs.Job", on_delete=models.PROTECT, related_name="parts")
    need = models.PositiveIntegerField()
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="needed_by"
    )
    spec = models.CharField(max_length=500)
    quantity = models.PositiveIntegerField(default=1)
    arrived = models.PositiveIntegerField(default=0)
    required = models.BooleanField(default=True)
    ordered = models.BooleanField(default=False)
    fitted = models.BooleanField(default=False)
    needed_at = models.DateTimeField()
    # Cleared once it is here or fitted, or the job is closed: what lists of waiting ask for.
    outstanding = models.BooleanField(default=True)

    class Meta:
        ordering = ["job", "need"]
        constraints = [
            models.UniqueConstraint(fields=["job", "need"], name="job_part_once"),
        ]
        indexes = [
            models.Index(
                fields=["needed_at"], name="job_part_outstanding", condition=Q(outstanding=True)
            ),
        ]

    def __str__(self) -> str:
        return self.spec

    @property
    def missing(self) -> int:
        """Pieces that have not arrived."""
        return max(0, self.quantity - self.arrived)


class StageVisit(models.Model):
    """A stay in one stage, from when to when."""

    job = models.ForeignKey("jobs.Job", on_delete=models.PROTECT, related_name="stage_visits")
    stage = models.CharField(max_length=20)
    kind = models.CharField(max_length=40, blank=True)
    entered_at = models.DateTimeField()
    left_at = models.DateTimeField(null=True, blank=True)
    to = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ["job", "entered_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["job"], condition=Q(left_at__isnull=True), name="stage_visit_one_open"
            ),
        ]
        indexes = [
            models.Index(fields=["stage", "-left_at"], name="stage_visit_left"),
            models.Index(fields=["to", "stage", "job"], name="stage_visit_to_job"),
        ]

    def __str__(self) -> str:
        return f"job {self.job_id} in {self.stage}"


class JobCause(models.Model):
    """A cause that a job confirmed; `suspect` is the key of the pack, or the words typed."""

    job = models.ForeignKey("jobs.Job", on_delete=models.PROTECT, related_name="causes")
    suspect = models.CharField(max_length=200)
    kind = models.CharField(max_length=40, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "suspect"], name="job_cause_once"),
        ]
        indexes = [models.Index(fields=["kind", "suspect"], name="job_cause_kind")]

    def __str__(self) -> str:
        return self.suspect


class JobReading(models.Model):
    """A reading of a job beside the limit that was in force: what later units are compared with."""

    job = models.ForeignKey("jobs.Job", on_delete=models.PROTECT, related_name="readings")
    row = models.PositiveIntegerField()
    make = models.CharField(max_length=120)
    model = models.CharField(max_length=120)
    quantity = models.CharField(max_length=200)
    value = models.FloatField()
    unit = models.CharField(max_length=20, blank=True)
    low = models.FloatField(null=True)
    high = models.FloatField(null=True)
    passed = models.BooleanField(default=True)

    class Meta:
        ordering = ["job", "row"]
        indexes = [models.Index(fields=["make", "model", "quantity"], name="job_reading_model")]

    def __str__(self) -> str:
        return f"{self.quantity} {self.value:g} {self.unit}"
