"""The shop's own rules, written on a page: editions that were published, and one draft."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class HouseEdition(models.Model):
    """A whole set of house rules and steps. The newest published one is in force."""

    version = models.PositiveIntegerField(unique=True)
    # The tables as a pack file would hold them: {"rule": [...], "step": [...]}.
    content = models.JSONField(default=dict)
    changed_at = models.DateTimeField()
    changed_by = models.CharField(max_length=150)
    published_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                models.Value(1), condition=Q(published_at__isnull=True), name="house_one_draft"
            ),
        ]

    def __str__(self) -> str:
        return f"House rules {self.version}"
