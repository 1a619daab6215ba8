"""The customer's way in: an address that shows one job to whoever holds it."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models

from shop.jobs.models import Job


class CustomerLink(models.Model):
    """One address. `nonce` makes it unguessable; signed, it is what the address holds."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="customer_links")
    nonce = models.CharField(max_length=43)
    made_at = models.DateTimeField()
    # Empty when a message made it.
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        db_table = "link_ownerlink"
        ordering = ["job", "-pk"]

    def __str__(self) -> str:
        return f"Link {self.pk} to job {self.job_id}"
