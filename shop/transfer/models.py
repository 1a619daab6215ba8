"""Imports of spreadsheets: what was looked at and is to be written, until all of it is."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import F, Q


class JobImport(models.Model):
    """A file whose rows were all found good, and how many of them are jobs by now.

    The file stays here until the last row is written, so that an import that was interrupted is
    carried to its end and not left half.
    """

    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    name = models.CharField(max_length=255)
    rows = models.PositiveIntegerField()
    written = models.PositiveIntegerField(default=0)
    written_at = models.DateTimeField()
    # Compressed; taken away with the last row, because customers stand in it.
    content = models.BinaryField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(written__lte=F("rows")), name="import_writes_what_it_has"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}: {self.written} of {self.rows} rows"


class ImportDraft(models.Model):
    """A file from a page whose columns are being chosen; it goes with the import, or after a day."""

    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    made_at = models.DateTimeField()
    name = models.CharField(max_length=255)
    head = models.JSONField()
    # Our column for each of theirs; empty: left out.
    mapping = models.JSONField()
    # Rows of text as JSON, compressed.
    content = models.BinaryField()

    def __str__(self) -> str:
        return self.name


class ColumnMapping(models.Model):
    """What was chosen for the columns of a head, by a hash of their names."""

    head = models.CharField(max_length=64, unique=True)
    mapping = models.JSONField()

    def __str__(self) -> str:
        return ", ".join(filter(None, self.mapping))
