"""What can be looked for: the words of every job, and every word that ever stood there.

The ledger stays the truth; both tables are made from it and can be thrown away.
"""

from __future__ import annotations

from django.db import models

from shop.jobs.models import Job


class IndexedJob(models.Model):
    """The words of a job as of ledger row `head`; the index over them is the database's own."""

    job = models.OneToOneField(
        Job, on_delete=models.CASCADE, primary_key=True, related_name="indexed"
    )
    head = models.PositiveIntegerField()

    class Meta:
        db_table = "search_entry"

    def __str__(self) -> str:
        return f"Words of job {self.job_id}"


class IndexedWord(models.Model):
    """A word that stands in some job, for finding what was meant by a slip."""

    word = models.CharField(max_length=60, unique=True)

    class Meta:
        db_table = "search_word"

    def __str__(self) -> str:
        return self.word
