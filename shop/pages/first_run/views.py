"""The first page of an empty shop."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods

from shop.lib.limits import allow
from shop.lib.refusals import UserFacingError
from shop.lib.web import uploads
from shop.pages.first_run import door, services
from shop.pages.first_run.forms import FirstRunForm
from shop.preferences import current
from shop.preferences.changing import CannotSet
from shop.preferences.definitions import BY_NAME

GUESSES, _MINUTE = 30, 60
_BACKEND = "django.contrib.auth.backends.ModelBackend"


@csrf_exempt  # Asked below: who may send files is known before the form is read.
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: HttpRequest, token: str) -> HttpResponse:
    """Set up an empty shop, for whoever holds the address that the start printed."""
    if not door.opens(token):
        status = 404 if allow("first-run-guesses", GUESSES, seconds=_MINUTE) else 429
        return render(request, "pages/first_run/shut.html", status=status)
    uploads.let_in(request)
    answer: HttpResponse = _page(request)
    answer["Cache-Control"] = "no-store"
    return answer


@csrf_protect
def _page(request: HttpRequest) -> HttpResponse:
    post = request.method == "POST"
    form = FirstRunForm(request.POST if post else None, request.FILES if post else None)
    if post and form.is_valid() and _set_up(request, form):
        return redirect("home")
    status = 422 if form.errors else 200
    return render(request, "pages/first_run/first_run.html", {"form": form}, status=status)


def _set_up(request: HttpRequest, form: FirstRunForm) -> bool:
    """Set the shop up, or put each sentence at its field; nothing is half done."""
    given = form.cleaned_data
    try:
        owner, taken = services.set_up(
            given["owner_name"],
            given["password"],
            form.changed_texts(),
            usual=given["usual"],
            at=timezone.now(),
        )
    except CannotSet as error:
        for name, sentence in error.problems.items():
            form.add_error(name, sentence)
        return False
    except UserFacingError as error:
        form.add_error("logo" if error.status == 422 else None, str(error))
        return False
    finally:
        # What was decided and then rolled back is not to be gone by.
        current.forget()
    door.shut()
    login(request, owner, backend=_BACKEND)
    _say(request, taken)
    return True


def _say(request: HttpRequest, taken: list[str]) -> None:
    said = _("Your shop is set up. The rest is under More, Settings and People.")
    messages.success(request, said)
    if taken:
        told = "; ".join(f"{BY_NAME[name].title}: {current.in_force(name).text}" for name in taken)
        usual = _("Taken as usual in your country: {settings}. Look whether it is so.")
        messages.info(request, usual.format(settings=told))
