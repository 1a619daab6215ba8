"""Second factors that are lost."""

from __future__ import annotations

from allauth.mfa.models import Authenticator
from django.contrib.auth.models import User

from shop.accounts.models import SignIn
from shop.accounts.sign_in_log import note


def remove_all(person: User, *, how: str = "by command") -> int:
    """Take away every second factor of a person, and note it and how; returns how many there were."""
    removed, _ = Authenticator.objects.filter(user=person).delete()
    if removed:
        note(None, SignIn.REMOVED, person=person, how=how)
    return removed
