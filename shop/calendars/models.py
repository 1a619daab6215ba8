"""The address of a person's calendar."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models


class CalendarAddress(models.Model):
    """What opens somebody's calendar; only a hash of what stands in the address is kept."""

    person = models.OneToOneField(User, on_delete=models.CASCADE, related_name="calendar_address")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"Calendar of {self.person}"
