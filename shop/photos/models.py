"""Photos of a job: what each shows, and the image itself, kept in the database.

So a backup holds them, and a photo is there exactly when its row in the ledger is. Tables and
columns keep the names under which they were made.
"""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job


class Photo(models.Model):
    """A photo of a unit, a parcel, a finding or a step; `before` is the same view before the work."""

    UNIT, PARCEL, FINDING, STEP = "unit", "parcel", "finding", "step"
    SUBJECTS = (
        (UNIT, _("the unit")),
        (PARCEL, _("the parcel")),
        (FINDING, _("a finding")),
        (STEP, _("a step")),
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
    # Of the picture with its marks, and the words on it; empty where nothing is marked.
    marked_sha256 = models.CharField(max_length=64, blank=True, default="")
    marked_words = models.TextField(blank=True, default="")

    class Meta:
        ordering = ["job", "pk"]

    def __str__(self) -> str:
        return self.caption or gettext("Picture {number} of job {job}").format(
            number=self.pk, job=self.job_id
        )

    @property
    def small_shown(self) -> str:
        """The size that stands in lists: with its marks, where there are any."""
        return f"small-{self.marked_sha256[:8]}" if self.marked_sha256 else "small"

    @property
    def whole_shown(self) -> str:
        """The size to look at: with its marks, where there are any."""
        return f"whole-{self.marked_sha256[:8]}" if self.marked_sha256 else "whole"


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


class PhotoMark(models.Model):
    """A mark on a picture; places are thousandths of width and height from the left top."""

    ARROW, RING, WORDS = "arrow", "ring", "words"
    SHAPES = ((ARROW, _("an arrow")), (RING, _("a ring")), (WORDS, _("words")))

    photo = models.ForeignKey(Photo, on_delete=models.CASCADE, related_name="marks")
    shape = models.CharField(max_length=8, choices=SHAPES)
    # The arrow points to the second place; a ring lies between both; words begin at the first.
    x1 = models.PositiveSmallIntegerField()
    y1 = models.PositiveSmallIntegerField()
    x2 = models.PositiveSmallIntegerField()
    y2 = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=80, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(x1__lte=1000, y1__lte=1000, x2__lte=1000, y2__lte=1000),
                name="mark_in_the_picture",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_shape_display()} on picture {self.photo_id}"

    def to_draw(self) -> dict[str, object]:
        """Return what the marker draws."""
        return {
            "shape": self.shape,
            "start": [self.x1, self.y1],
            "end": [self.x2, self.y2],
            "words": self.words,
        }


class MarkedImage(models.Model):
    """The bytes of a photo with its marks as JPEG; gone with those of the photo."""

    image = models.OneToOneField(
        PhotoImage, on_delete=models.CASCADE, primary_key=True, related_name="marked"
    )
    whole = models.BinaryField()
    small = models.BinaryField()

    def __str__(self) -> str:
        return f"The marked bytes of {self.image_id}"
