"""Signatures of heads of ledgers, and the keys of the shop that made them."""

from __future__ import annotations

from django.db import models


class ShopKey(models.Model):
    """The public half of a key of this shop. The newest row is the key in force."""

    public_key = models.TextField()
    fingerprint = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    # The key before it, and what both say of the change; the former key says it unless it is lost.
    former = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True)
    said_by_former = models.CharField(max_length=100, blank=True)
    said_by_this = models.CharField(max_length=100, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.fingerprint[:16]


class HeadSignature(models.Model):
    """A row of a job's ledger, signed: with it every row before stands as it was."""

    job = models.ForeignKey("jobs.Job", on_delete=models.PROTECT, related_name="signatures")
    sequence = models.PositiveIntegerField()
    hash = models.CharField(max_length=64)
    key = models.ForeignKey(ShopKey, on_delete=models.PROTECT, related_name="signatures")
    signature = models.CharField(max_length=100)
    signed_at = models.DateTimeField()

    class Meta:
        ordering = ["job", "sequence"]
        constraints = [
            models.UniqueConstraint(fields=["job", "sequence", "key"], name="head_signed_once"),
        ]

    def __str__(self) -> str:
        return f"job {self.job_id}, row {self.sequence}"

    @property
    def message(self) -> str:
        """What was signed, letter for letter."""
        return head_message(self.job_id, self.sequence, self.hash)


def head_message(job: int, sequence: int, row_hash: str) -> str:
    """Return the one line that is signed for a head."""
    return f"benchtag head: job {job}, row {sequence}, sha256 {row_hash}"
