"""Who may do what: four roles, kept as groups."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any

from django.contrib.auth.models import AnonymousUser, Group, User
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.translation import gettext as _
from django.utils.translation import pgettext_lazy

from shop.lib import addresses
from shop.lib.prepared import PreparedRows
from shop.lib.refusals import Forbidden
from shop.lib.web.errors import View
from shop.preferences import current as preferences

if TYPE_CHECKING:
    Person = User | AnonymousUser

ROLES = ("owner", "technician", "desk", "viewer")
_NAMES = {
    "owner": pgettext_lazy("role", "owner"),
    "technician": pgettext_lazy("role", "technician"),
    "desk": pgettext_lazy("role", "desk"),
    "viewer": pgettext_lazy("role", "viewer"),
}
CHOICES = tuple(_NAMES.items())

# `isolate` is everybody's: taking power away never asks anything.
ABILITIES: dict[str, frozenset[str]] = {
    "viewer": frozenset({"read", "isolate"}),
    "desk": frozenset({"read", "isolate", "receive", "note", "import", "order", "bill"}),
    "technician": frozenset(
        {"read", "isolate", "receive", "note", "record", "sign", "move", "order"}
    ),
    "owner": frozenset(
        {
            "read",
            "isolate",
            "receive",
            "note",
            "record",
            "sign",
            "move",
            "import",
            "order",
            "bill",
            "rules",
            # What the shop decides about itself.
            "settings",
            # What is kept of people: erasing it, and the record of who signed in.
            "persons",
        }
    ),
}


_GROUPS = PreparedRows(lambda person: Group.objects.filter(user=person), int, columns=["name"])


def role_name(role: str | None) -> str:
    """Return what a page calls a role; nothing for none."""
    return str(_NAMES.get(role, role)) if role else ""


def role_of(person: Person) -> str | None:
    """Return the role, or None for somebody who has none; asked of the database once a request."""
    if not person.is_authenticated:
        return None
    if "_bench_role" not in person.__dict__:
        groups = {name for (name,) in _GROUPS(person.pk)}
        first_role = next((role for role in ROLES if role in groups), None)
        person.__dict__["_bench_role"] = first_role or ("owner" if person.is_superuser else None)
    role: str | None = person.__dict__["_bench_role"]
    return role


def may(person: Person, ability: str) -> bool:
    """Tell whether the person's role has the ability."""
    return ability in ABILITIES.get(role_of(person) or "", frozenset())


def require(person: Person, ability: str) -> None:
    """Raise Forbidden with a sentence unless the person's role has the ability."""
    if not may(person, ability):
        allowed = [role for role in ROLES if ability in ABILITIES[role]]
        role = role_name(role_of(person)) or _("without a role")
        raise Forbidden(
            _("You are {role}; this is for {roles}.").format(
                role=role, roles=_(" or ").join(map(role_name, allowed))
            )
        )


def signed_in(request: HttpRequest) -> User:
    """Return who is signed in; for views behind `needs`."""
    if not isinstance(request.user, User):
        raise Forbidden(_("Sign in first."))
    return request.user


def needs(ability: str) -> Callable[[View], View]:
    """Mark a view with the ability it needs: sign-in for strangers, 403 for the wrong role."""

    def mark(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            require(request.user, ability)
            return view(request, *args, **kwargs)

        guarded.ability = ability  # type: ignore[attr-defined]
        return guarded

    return mark


def make_user(name: str, role: str, password: str | None = None) -> User:
    """Create or re-role a person; `role` must be one of ROLES."""
    if role not in ROLES:
        raise ValueError(f"role is {role!r}; it must be one of {', '.join(ROLES)}.")
    user, new = User.objects.get_or_create(username=name)
    if password is not None or new:
        user.set_password(password)  # None: nobody can sign in with it
        user.save(update_fields=["password"])
    user.groups.set([Group.objects.get_or_create(name=role)[0]])
    return user


def shop_name(request: HttpRequest) -> dict[str, Any]:
    """Give templates the letterhead of the shop; what is not set is empty.

    Whether anybody belongs to the shop is asked where a template does.
    """
    return {
        "shop_name": preferences.value("shop_name"),
        "shop_postal_address": addresses.of_shop_on_one_line(),
        "shop_telephone": preferences.value("telephone"),
        "shop_logo": preferences.value("logo"),
        "nobody_yet": lambda: not User.objects.exists(),
    }


def for_templates(request: HttpRequest) -> dict[str, Any]:
    """Give templates the role and what it may do."""
    person = getattr(request, "user", None)
    role = role_of(person) if person is not None else None
    return {"role": role, "may": dict.fromkeys(ABILITIES.get(role or "", ()), True)}
