"""Who signed in, or tried to."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models


class SignIn(models.Model):
    """One sign-in, sign-out, refusal, or change of how somebody signs in; never changed."""

    IN, OUT, REFUSED, SLOWED = "in", "out", "refused", "slowed"
    PASSWORD, ADDED, REMOVED = "password", "added", "removed"
    WHAT = (
        (IN, "signed in"),
        (OUT, "signed out"),
        (REFUSED, "refused"),
        (SLOWED, "refused: too many tries"),
        (PASSWORD, "changed the password"),
        (ADDED, "added a second factor"),
        (REMOVED, "removed a second factor"),
    )

    person = models.ForeignKey(User, on_delete=models.CASCADE, null=True, related_name="sign_ins")
    # As typed where nobody got in: `person` is empty then.
    name = models.CharField(max_length=150, blank=True)
    what = models.CharField(max_length=8, choices=WHAT)
    how = models.CharField(max_length=60, blank=True)
    at = models.DateTimeField()
    address = models.GenericIPAddressField(null=True)
    browser = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["at"], name="sign_in_at")]

    def __str__(self) -> str:
        return f"{self.name}: {self.get_what_display()}"
