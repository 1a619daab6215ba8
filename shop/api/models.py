"""Tokens for programs."""

from __future__ import annotations

import hashlib
import secrets

from django.contrib.auth.models import User
from django.db import models


class ApiToken(models.Model):
    """A bearer token; only its hash is kept."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="api_tokens")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"Token of {self.user}"

    @classmethod
    def make(cls, user: User) -> str:
        """Create a token and return it; it cannot be read again."""
        token = "bw_" + secrets.token_urlsafe(32)
        cls.objects.create(user=user, digest=digest_of(token))
        return token


def digest_of(token: str) -> str:
    """Return what is kept of a token. It is random and long, so one plain hash is enough."""
    return hashlib.sha256(token.encode()).hexdigest()
