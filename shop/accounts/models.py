"""Who signed in, or tried to."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.utils.translation import gettext_lazy as _


class SignIn(models.Model):
    """One sign-in, sign-out, refusal, or change of who may sign in and how; never changed."""

    IN, OUT, REFUSED, SLOWED = "in", "out", "refused", "slowed"
    PASSWORD, ADDED, REMOVED = "password", "added", "removed"
    INVITED, LINK, JOINED, ROLE = "invited", "link", "joined", "role"
    STOPPED, BACK = "stopped", "back"
    WHAT = (
        (IN, _("signed in")),
        (OUT, _("signed out")),
        (REFUSED, _("refused")),
        (SLOWED, _("refused: too many tries")),
        (PASSWORD, _("changed the password")),
        (ADDED, _("added a second factor")),
        (REMOVED, _("removed a second factor")),
        (INVITED, _("was invited")),
        (LINK, _("was given a link to a new password")),
        (JOINED, _("took up the invitation")),
        (ROLE, _("got another role")),
        (STOPPED, _("may sign in no longer")),
        (BACK, _("may sign in again")),
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


class AccountLink(models.Model):
    """A link that makes an account, or a new password for one: once, until it ends.

    Only a hash of what stands in the address is kept: who reads the table can open nothing.
    """

    # Nobody yet where it is an invitation.
    person = models.ForeignKey(User, on_delete=models.CASCADE, null=True, related_name="links")
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=20, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    expires_at = models.DateTimeField()
    # Used, or taken back.
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.name}, until {self.expires_at:%Y-%m-%d}"

    @property
    def is_invitation(self) -> bool:
        """Whether it makes an account, rather than a password for one that is there."""
        return self.person_id is None
