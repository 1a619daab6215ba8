"""Manuals: a PDF on a model, a job or a part, its text by page, and pages that are named elsewhere.

The file is kept as it came, in the database: a backup holds it, and it is there exactly when its row is.
"""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job
from shop.parts.models import Part


class Manual(models.Model):
    """A document of several pages; it belongs to a make and model, to one job, or to a part."""

    MANUAL, SCHEMATIC, DATA_SHEET, PAPER = "manual", "schematic", "data-sheet", "paper"
    KINDS = (
        (MANUAL, _("Manual")),
        (SCHEMATIC, _("Schematic")),
        (DATA_SHEET, _("Data sheet")),
        # A receipt or a letter: it may name a person, and goes when the customer is erased.
        (PAPER, _("Paper of the customer")),
    )

    kind = models.CharField(max_length=12, choices=KINDS, default=MANUAL)
    title = models.CharField(max_length=200)
    make = models.CharField(max_length=120, blank=True)
    model = models.CharField(max_length=120, blank=True)
    job = models.ForeignKey(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="manuals"
    )
    part = models.ForeignKey(
        Part, on_delete=models.CASCADE, null=True, blank=True, related_name="manuals"
    )
    pages = models.PositiveIntegerField()
    # Of the file, in bytes, and its SHA-256 in hex.
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    added_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["title", "pk"]
        indexes = [models.Index(fields=["make", "model"], name="manual_of_model")]
        constraints = [
            models.CheckConstraint(
                condition=(Q(job=None, part=None) & ~Q(make="") & ~Q(model=""))
                | Q(make="", model="", job__isnull=False, part=None)
                | Q(make="", model="", job=None, part__isnull=False),
                name="manual_belongs_to_one",
            ),
        ]

    def __str__(self) -> str:
        return self.title


class ManualFile(models.Model):
    """The bytes of a manual as they came, and its first page in small as JPEG."""

    manual = models.OneToOneField(
        Manual, on_delete=models.CASCADE, primary_key=True, related_name="file"
    )
    pdf = models.BinaryField()
    cover = models.BinaryField()

    def __str__(self) -> str:
        return f"The bytes of {self.manual_id}"


class ManualPage(models.Model):
    """The text of a page, and its words as they are looked for; pages without text have no row."""

    manual = models.ForeignKey(Manual, on_delete=models.CASCADE, related_name="texts")
    number = models.PositiveIntegerField()
    text = models.TextField()
    words = models.TextField()

    class Meta:
        ordering = ["manual", "number"]
        constraints = [
            models.UniqueConstraint(fields=["manual", "number"], name="page_once_per_manual"),
        ]

    def __str__(self) -> str:
        return f"Page {self.number} of {self.manual_id}"


class PageLink(models.Model):
    """A page that is shown beside a step, a suspect or a fact, where the manual belongs to it."""

    STEP, SUSPECT, FACT = "step", "suspect", "fact"
    PLACES = ((STEP, _("a step")), (SUSPECT, _("a suspect")), (FACT, _("a fact of the model")))

    manual = models.ForeignKey(Manual, on_delete=models.CASCADE, related_name="links")
    page = models.PositiveIntegerField()
    beside = models.CharField(max_length=8, choices=PLACES)
    key = models.CharField(max_length=100)
    words = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["manual", "page"]
        constraints = [
            models.UniqueConstraint(
                fields=["manual", "page", "beside", "key"], name="page_once_beside"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.manual}, p. {self.page}"
