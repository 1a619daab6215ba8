"""What became of each backup into a folder."""

from __future__ import annotations

from django.db import models


class BackupRun(models.Model):
    """One backup that was begun: whether it came back whole from a restore, and what went wrong.

    `sound` and a `fault` together: the file holds, and the copy elsewhere was not made.
    """

    began_at = models.DateTimeField(db_index=True)
    ended_at = models.DateTimeField(null=True)
    file = models.TextField(blank=True)
    size = models.BigIntegerField(default=0)
    sound = models.BooleanField(default=False)
    fault = models.TextField(blank=True)

    class Meta:
        app_label = "backups"
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.file or 'a backup'}, begun {self.began_at:%Y-%m-%d %H:%M}"
