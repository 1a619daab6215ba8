"""Pictures of a unit that is not taken in yet: a refused form keeps them until it is sent again."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models


class PictureDraft(models.Model):
    """A picture that came with a refused intake; only who sent it sees it, for a day."""

    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=200)
    kept_at = models.DateTimeField(db_index=True)
    whole = models.BinaryField()
    small = models.BinaryField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sha256_sent = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name
