"""Settings as they were decided, row upon row: the newest of each name is in force."""

from __future__ import annotations

from django.db import models


class SettingChange(models.Model):
    """One decision about one setting, by whom and when; rows are never changed.

    An empty `by` is the shop itself. `text` is what was typed; "" goes back to the default only
    where `cleared` says so, because an empty text may be a value.
    """

    name = models.CharField(max_length=40)
    text = models.TextField(blank=True)
    cleared = models.BooleanField(default=False)
    at = models.DateTimeField()
    by = models.CharField(max_length=150, blank=True)

    class Meta:
        app_label = "preferences"
        ordering = ("id",)
        indexes = (models.Index(fields=["name", "-id"], name="setting_newest"),)

    def __str__(self) -> str:
        return f"{self.name}: {self.text}"


class SealedSetting(models.Model):
    """A setting that is a secret, sealed by the signing key; it is in no bundle and no history."""

    name = models.CharField(max_length=40, unique=True)
    sealed = models.TextField()

    class Meta:
        app_label = "preferences"

    def __str__(self) -> str:
        return self.name
