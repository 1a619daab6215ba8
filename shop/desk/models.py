"""Owners of units, kept apart from the bench: jobs and their ledgers hold no person."""

from __future__ import annotations

from django.db import models

from shop.jobs.models import Job


class Owner(models.Model):
    """Somebody whose unit is here."""

    name = models.CharField(max_length=200, blank=True)
    email = models.CharField(max_length=254, blank=True)

    class Meta:
        indexes = [models.Index(fields=["email"], name="owner_email")]

    def __str__(self) -> str:
        return self.name or self.email


class Intake(models.Model):
    """Links a job to the owner of the unit."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="intake")
    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="intakes")

    def __str__(self) -> str:
        return f"{self.owner} for job {self.job_id}"
