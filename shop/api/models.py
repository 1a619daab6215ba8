"""Tokens for programs."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import models
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

USUAL_DAYS = 365
MOST_DAYS = 3650


class ApiToken(models.Model):
    """A bearer token; only its hash is kept.

    It falls when it is revoked, when its time is over, with a change of the person's password,
    and while the person is not active.
    """

    READ, WRITE = "read", "write"
    SCOPES = ((READ, _("reads only")), (WRITE, _("reads and writes")))

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="api_tokens")
    name = models.CharField(max_length=80, blank=True)
    scope = models.CharField(max_length=8, choices=SCOPES, default=WRITE)
    digest = models.CharField(max_length=64, unique=True)
    password_mark = models.CharField(max_length=64, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.name or 'Token'} of {self.user}"

    @classmethod
    def make(cls, user: User, *, name: str = "", scope: str = WRITE, days: int = USUAL_DAYS) -> str:
        """Create a token and return it; it cannot be read again. days: until it expires."""
        token = "bt_" + secrets.token_urlsafe(32)
        cls.objects.create(
            user=user,
            name=name,
            scope=scope,
            digest=digest_of(token),
            password_mark=mark_of(user),
            expires_at=timezone.now() + timedelta(days=days),
        )
        return token

    def stands(self, now: datetime) -> bool:
        """Whether it opens anything at this moment."""
        good = self.revoked_at is None and now < self.expires_at and self.user.is_active
        return good and secrets.compare_digest(self.password_mark, mark_of(self.user))


def digest_of(token: str) -> str:
    """Return what is kept of a token. It is random and long, so one plain hash is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


def mark_of(user: User) -> str:
    """Return a mark of the person's password as it is: another password has another mark."""
    return salted_hmac("shop.api.token", user.password, algorithm="sha256").hexdigest()


class KeyedRequest(models.Model):
    """A request with a key that was carried out or refused, and what a replay of it is told from."""

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    method = models.CharField(max_length=8)
    path = models.TextField()
    body_digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(default=0)
    answer = models.JSONField(null=True)
    made_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "key"], name="one_request_for_a_key")
        ]

    def __str__(self) -> str:
        return f"{self.method} {self.path}"

    def keep(self, status: int, answer: object) -> None:
        """Note what came of it: the status, and plain values."""
        self.status, self.answer = status, answer
        self.save(update_fields=["status", "answer"])
