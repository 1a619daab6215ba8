"""The page of the people of the shop, and the page that a link of theirs opens."""

from __future__ import annotations

from typing import Any

from allauth.mfa.models import Authenticator
from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.db.models import Exists, Max, OuterRef, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts import people, roles
from shop.accounts.models import AccountLink, SignIn
from shop.accounts.roles import needs, signed_in
from shop.lib.limits import allow
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import on_error
from shop.preferences import current as preferences

# Wrong addresses a minute in all: far above what people mistype.
GUESSES, _MINUTE = 30, 60


class InvitationForm(forms.Form):
    """Whom to invite."""

    name = forms.CharField(label="Name", max_length=150, required=False)
    role = forms.ChoiceField(
        label="Role", choices=[(role, role) for role in roles.ROLES], initial="technician"
    )


def _page(
    request: HttpRequest,
    key: int = 0,
    *,
    error: UserFacingError | None = None,
    link: str = "",
    name: str = "",
) -> HttpResponse:
    now = timezone.now()
    inviting = error is not None and "role" in request.POST and not key
    context = {
        "rows": [_row(person) for person in _everybody()],
        "links": people.live_links(now=now).select_related("made_by"),
        "form": InvitationForm(request.POST if inviting else None),
        "roles": roles.ROLES,
        "refused": str(error or ""),
        "link": link,
        "link_of": name,
    }
    return render(request, "accounts/people.html", context)


def _everybody() -> list[User]:
    seen = Max("sign_ins__at", filter=Q(sign_ins__what=SignIn.IN))
    factors = Authenticator.objects.filter(user=OuterRef("pk")).exclude(
        type=Authenticator.Type.RECOVERY_CODES
    )
    everybody = User.objects.annotate(seen_at=seen, factors=Exists(factors))
    everybody = everybody.prefetch_related("groups")
    return list(everybody.order_by("-is_active", "username"))


def _row(person: User) -> dict[str, Any]:
    names = {group.name for group in person.groups.all()}
    role = next(
        (role for role in roles.ROLES if role in names), "owner" if person.is_superuser else ""
    )
    return {"person": person, "role": role, "factors": bool(person.factors)}  # type: ignore[attr-defined]


def _address(request: HttpRequest, token: str) -> str:
    """Return the whole address: that of the settings, else the one by which the owner came."""
    path = reverse("account-link", args=[token])
    known = preferences.in_force("address")
    if known.source == "default":
        return request.build_absolute_uri(path)
    return f"{known.value}{path}"


@require_GET
@needs("persons")
def people_page(request: HttpRequest) -> HttpResponse:
    return _page(request)


@require_POST
@needs("persons")
@on_error(_page)
def invite(request: HttpRequest) -> HttpResponse:
    """Invite somebody; the link is shown once."""
    name, role = request.POST.get("name", ""), request.POST.get("role", "")
    token = people.invite(name, role, by=signed_in(request), at=timezone.now())
    return _page(request, link=_address(request, token), name=name.strip())


@require_POST
@needs("persons")
def take_link_back(request: HttpRequest, key: int) -> HttpResponse:
    link = get_object_or_404(AccountLink, pk=key)
    if people.take_back(link, by=signed_in(request), at=timezone.now()):
        messages.success(request, f"The link of {link.name} opens nothing any more.")
    return redirect("people")


@require_POST
@needs("persons")
@on_error(_page)
def change_person(request: HttpRequest, key: int) -> HttpResponse:
    """Do one thing about a person: another role, a link, no more, again, no second factor."""
    person, by, now = get_object_or_404(User, pk=key), signed_in(request), timezone.now()
    act = request.POST.get("act", "")
    if act == "link":
        token = people.link_to_new_password(person, by=by, at=now)
        return _page(request, link=_address(request, token), name=person.username)
    if act == "role":
        people.change_role(person, request.POST.get("role", ""), by=by)
    elif act == "stop":
        people.stop(person, by=by, at=now)
    elif act == "back":
        people.take_in_again(person, by=by)
    elif act == "factors":
        people.forget_second_factor(person, by=by)
    else:
        return redirect("people")
    messages.success(request, f"Kept for {person.username}.")
    return redirect("people")


@require_http_methods(["GET", "HEAD", "POST"])
def join(request: HttpRequest, token: str) -> HttpResponse:
    """Let whoever holds a link choose their password, once."""
    now = timezone.now()
    link = people.opened(token, now=now)
    if link is None:
        answer = _gone(request)
    elif request.method == "POST":
        answer = _joined(request, link)
    else:
        answer = _form(request, link)
    answer["Cache-Control"] = "no-store"
    answer["X-Robots-Tag"] = "noindex"
    return answer


def _gone(request: HttpRequest) -> HttpResponse:
    status = 404 if allow("account-link-guesses", GUESSES, seconds=_MINUTE) else 429
    return render(request, "accounts/link_gone.html", status=status)


def _form(
    request: HttpRequest, link: AccountLink, refused: str = "", status: int = 200
) -> HttpResponse:
    context = {"link": link, "refused": refused}
    return render(request, "accounts/join.html", context, status=status)


def _joined(request: HttpRequest, link: AccountLink) -> HttpResponse:
    password = request.POST.get("password", "")
    if password != request.POST.get("again", ""):
        return _form(request, link, "The two passwords differ; type the same one twice.", 422)
    try:
        person = people.use(link, password, at=timezone.now())
    except UserFacingError as error:
        return _form(request, link, str(error), error.status)
    messages.success(request, f"Done. Sign in as {person.username} with your new password.")
    return redirect("sign-in")
