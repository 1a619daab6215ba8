"""Addresses that are told, and what each was told."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q


class Endpoint(models.Model):
    """An address that is told when events of its list happen. Its secret is kept sealed."""

    address = models.CharField(max_length=500)
    events = models.JSONField(default=list)
    private_allowed = models.BooleanField(default=False)
    sealed = models.TextField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    # Rows of ledgers after the first were looked at up to the second, by their keys.
    first_row = models.BigIntegerField(default=0)
    last_row = models.BigIntegerField(default=0)
    # Since when no try has succeeded; empty after one that did.
    failing_since = models.DateTimeField(null=True, blank=True)
    disabled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.address


class Delivery(models.Model):
    """One message to one address, tried until it is taken or given up.

    Unique on (endpoint, key): whoever looks twice writes it once. `key` is its webhook-id, the
    same at every try, by which the receiver knows one that comes twice.
    """

    endpoint = models.ForeignKey(Endpoint, on_delete=models.CASCADE, related_name="deliveries")
    key = models.CharField(max_length=60)
    event = models.CharField(max_length=40)
    body = models.TextField()
    # The row of a ledger that it is about; 0 for a test.
    row = models.BigIntegerField(default=0)
    made_at = models.DateTimeField()
    send_after = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)
    status = models.PositiveSmallIntegerField(null=True, blank=True)
    answer = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["endpoint", "key"], name="delivery_written_once"),
        ]
        indexes = [
            models.Index(
                fields=["send_after"],
                name="delivery_waiting",
                condition=Q(sent_at__isnull=True, given_up_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} to {self.endpoint}"
