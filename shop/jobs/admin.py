"""The admin sees jobs and ledgers; it changes neither."""

from __future__ import annotations

from django.contrib import admin
from django.http import HttpRequest

from shop.jobs.models import Job, LedgerRow, Permit, Unit


class ReadOnly(admin.ModelAdmin):  # type: ignore[type-arg]
    """A register that can be looked at."""

    def has_add_permission(self, request: HttpRequest, obj: object = None) -> bool:
        """Never: jobs are written through the commands."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        """Never."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        """Never."""
        return False


for model in (Job, LedgerRow, Permit, Unit):
    admin.site.register(model, ReadOnly)
