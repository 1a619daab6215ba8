"""Photos of a job: what each shows, and the image itself, kept in the database.

So a backup holds them, and a photo is there exactly when its row in the ledger is. Tables and
columns keep the names under which they were made.
"""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models

from shop.jobs.models import Job


class Photo(models.Model):
    """A photo of a unit, a parcel, a finding or a step; `before` is the same view before the work."""

    UNIT, PARCEL, FINDING, STEP = "unit", "parcel", "finding", "step"
    SUBJECTS = (
        (UNIT, "the unit"),
        (PARCEL, "the parcel"),
        (FINDING, "a finding"),
        (STEP, "a step"),
    )

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    subject = models.CharField(max_length=8, choices=SUBJECTS, default=UNIT)
    # The ledger row of the finding, or the key of the step.
    row = models.PositiveIntegerField(null=True, blank=True)
    step = models.CharField(max_length=80, blank=True)
    caption = models.CharField(max_length=300, blank=True)
    before = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="after"
    )
    # Whether the customer sees it by link.
    visible_to_customer = models.BooleanField(default=True, db_column="shown")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    # Of the file as it came and as it is kept, in hex.
    sha256_sent = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)
    taken_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["job", "pk"]

    def __str__(self) -> str:
        return self.caption or f"Picture {self.pk} of job {self.job_id}"


class PhotoImage(models.Model):
    """The bytes of a photo as JPEG: whole, and small for lists."""

    photo = models.OneToOneField(
        Photo, on_delete=models.CASCADE, primary_key=True, related_name="image"
    )
    whole = models.BinaryField()
    small = models.BinaryField()

    class Meta:
        db_table = "photos_picture"

    def __str__(self) -> str:
        return f"The bytes of {self.photo_id}"
