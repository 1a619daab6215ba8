"""The page of the people of the shop, and the page that a link of theirs opens."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.accounts import invitation_letters, people, queries, roles
from shop.accounts.models import AccountLink
from shop.accounts.roles import needs, signed_in
from shop.lib import mail_server
from shop.lib.limits import allow
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import on_error

# Wrong addresses a minute in all: far above what people mistype.
GUESSES, _MINUTE = 30, 60


class InvitationForm(forms.Form):
    """Whom to invite."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=150, required=False)
    role = forms.ChoiceField(
        label=gettext_lazy("Role"),
        choices=roles.CHOICES,
        initial="technician",
    )
    email = forms.EmailField(
        label=gettext_lazy("E-mail address"),
        required=False,
        max_length=invitation_letters.LONGEST_ADDRESS,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )


def _page(
    request: HttpRequest,
    key: int = 0,
    *,
    error: UserFacingError | None = None,
    link: str = "",
    name: str = "",
    letter: str = "",
) -> HttpResponse:
    now = timezone.now()
    inviting = error is not None and "role" in request.POST and not key
    context = {
        "rows": queries.members(),
        "links": people.live_links(now=now).select_related("made_by"),
        "form": InvitationForm(request.POST if inviting else None),
        "roles": roles.ROLES,
        "refused": str(error or ""),
        "link": link,
        "link_of": name,
        "letter": letter,
        "mail_is_on": mail_server.is_on(),
    }
    return render(request, "accounts/people.html", context)


@require_GET
@needs("persons")
def people_page(request: HttpRequest) -> HttpResponse:
    return _page(request)


@require_POST
@needs("persons")
@on_error(_page)
def invite(request: HttpRequest) -> HttpResponse:
    """Invite somebody: by e-mail where an address is given, else the link is shown once."""
    name, role = request.POST.get("name", "").strip(), request.POST.get("role", "")
    to, now = invitation_letters.read_address(request.POST.get("email", "")), timezone.now()
    link = queries.link_address(request, people.invite(name, role, by=signed_in(request), at=now))
    if not to:
        return _page(request, link=link, name=name)
    ends_at = now + people.INVITATION
    went, letter = invitation_letters.send(to, link, name=name, role=role, ends_at=ends_at)
    return _page(request, link="" if went else link, name=name, letter=letter)


@require_POST
@needs("persons")
def take_link_back(request: HttpRequest, key: int) -> HttpResponse:
    link = get_object_or_404(AccountLink, pk=key)
    if people.take_back(link, by=signed_in(request), at=timezone.now()):
        messages.success(
            request, _("The link of {name} opens nothing any more.").format(name=link.name)
        )
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
        return _page(request, link=queries.link_address(request, token), name=person.username)
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
    messages.success(request, _("Kept for {username}.").format(username=person.username))
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
        return _form(request, link, _("The two passwords differ; type the same one twice."), 422)
    try:
        person = people.use(link, password, at=timezone.now())
    except UserFacingError as error:
        return _form(request, link, str(error), error.status)
    messages.success(
        request,
        _("Done. Sign in as {username} with your new password.").format(username=person.username),
    )
    return redirect("sign-in")
