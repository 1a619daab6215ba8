"""Browsers that are told, and what each is to be told."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q

from shop.messages.mail_queue import QueuedEmail


class Subscription(models.Model):
    """A browser of a person: where its push service is, and the keys it decrypts by (RFC 8291)."""

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="push_subscriptions")
    address = models.CharField(max_length=500, unique=True)
    p256dh = models.CharField(max_length=120)
    auth = models.CharField(max_length=60)
    browser = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Browser {self.pk} of {self.person}"


class PushMessage(QueuedEmail):
    """One message to one browser; unique on (subscription, key), sent by whoever claims it."""

    subscription = models.ForeignKey(Subscription, on_delete=models.CASCADE, related_name="+")
    text = models.CharField(max_length=400)
    path = models.CharField(max_length=200)
    urgent = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["subscription", "key"], name="push_written_once"),
        ]
        indexes = [
            models.Index(
                fields=["send_after"],
                name="push_waiting",
                condition=Q(sent_at__isnull=True, given_up_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} to {self.subscription}"
