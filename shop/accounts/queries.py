"""Who belongs to the shop, as the page and the API list them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from allauth.mfa.models import Authenticator
from django.contrib.auth.models import User
from django.db.models import Exists, Max, OuterRef, Q
from django.http import HttpRequest
from django.urls import reverse

from shop.accounts import roles
from shop.accounts.models import SignIn
from shop.preferences import current as preferences


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody of the shop: their role (empty for none), when they were last here, second factors."""

    person: User
    role: str
    seen_at: datetime | None
    factors: bool


def members() -> list[Member]:
    """Return everybody, those who may sign in first."""
    seen = Max("sign_ins__at", filter=Q(sign_ins__what=SignIn.IN))
    factors = Authenticator.objects.filter(user=OuterRef("pk")).exclude(
        type=Authenticator.Type.RECOVERY_CODES
    )
    everybody = User.objects.annotate(seen_at=seen, factors=Exists(factors))
    return [
        Member(person, _role(person), person.seen_at, bool(person.factors))
        for person in everybody.prefetch_related("groups").order_by("-is_active", "username")
    ]


def member(person: User) -> Member:
    """Return one of them, as they are now."""
    return next(one for one in members() if one.person.pk == person.pk)


def _role(person: User) -> str:
    names = {group.name for group in person.groups.all()}
    first = next((role for role in roles.ROLES if role in names), "")
    return first or ("owner" if person.is_superuser else "")


def link_address(request: HttpRequest, token: str) -> str:
    """Return the whole address of a link: that of the settings, else the one the owner came by."""
    path = reverse("account-link", args=[token])
    known = preferences.in_force("address")
    if known.source == "default":
        return request.build_absolute_uri(path)
    return f"{known.value}{path}"
