"""Note who signed in, or tried to, as the libraries tell of it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from allauth.account.signals import password_changed
from allauth.mfa.signals import authenticator_added, authenticator_removed
from django.contrib.auth.models import User
from django.contrib.auth.signals import user_logged_in, user_logged_out, user_login_failed
from django.core.exceptions import ValidationError
from django.core.validators import validate_ipv46_address
from django.dispatch import receiver
from django.http import HttpRequest
from django.utils import timezone

from shop.accounts.adapters import slowed
from shop.accounts.models import AccountLink, SignIn

# Addresses are personal: they are kept for as long as they may be asked for.
KEPT = timedelta(days=180)


def note(
    request: HttpRequest | None, what: str, *, person: User | None, name: str = "", how: str = ""
) -> None:
    """Write one row."""
    SignIn.objects.create(
        person=person,
        name=(person.get_username() if person else name)[:150].replace("\0", ""),
        what=what,
        how=how[:60],
        at=timezone.now(),
        address=_address(request),
        browser=request.headers.get("User-Agent", "")[:200].replace("\0", "") if request else "",
    )


def _address(request: HttpRequest | None) -> str | None:
    given = request.META.get("REMOTE_ADDR", "") if request else ""
    try:
        validate_ipv46_address(given)
    except ValidationError:
        return None
    return given


def purge(*, now: datetime) -> int:
    """Take away what is older than it is kept; returns how many rows."""
    removed, _ = SignIn.objects.filter(at__lt=now - KEPT).delete()
    AccountLink.objects.filter(expires_at__lt=now - KEPT).delete()
    return removed


@receiver(user_logged_in)
def _in(sender: Any, request: HttpRequest, user: User, **_: Any) -> None:
    steps = request.session.get("account_authentication_methods", []) if request else []
    how = ", ".join(str(step.get("type") or step.get("method")) for step in steps)
    note(request, SignIn.IN, person=user, how=how)


@receiver(user_logged_out)
def _out(sender: Any, request: HttpRequest, user: User | None, **_: Any) -> None:
    if user is not None:
        note(request, SignIn.OUT, person=user)


@receiver(user_login_failed)
def _refused(
    sender: Any, credentials: dict[str, Any], request: HttpRequest | None = None, **_: Any
) -> None:
    note(request, SignIn.REFUSED, person=None, name=str(credentials.get("username", "")))


@receiver(slowed)
def _slowed(sender: Any, request: HttpRequest, name: str, **_: Any) -> None:
    note(request, SignIn.SLOWED, person=None, name=name)


@receiver(password_changed)
def _password(sender: Any, request: HttpRequest, user: User, **_: Any) -> None:
    note(request, SignIn.PASSWORD, person=user)


@receiver(authenticator_added)
def _added(sender: Any, request: HttpRequest, user: User, authenticator: Any, **_: Any) -> None:
    note(request, SignIn.ADDED, person=user, how=authenticator.type)


@receiver(authenticator_removed)
def _removed(sender: Any, request: HttpRequest, user: User, authenticator: Any, **_: Any) -> None:
    note(request, SignIn.REMOVED, person=user, how=authenticator.type)
