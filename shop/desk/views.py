"""Pages of the desk: a unit comes in."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.desk import intake, likeness
from shop.desk.forms import ReceiveForm
from shop.jobs import facts
from shop.lib.people import needs, signed_in
from shop.lib.refusals import BadInput

_PLAIN = ("make", "model", "serial", "complaint", "owner_name", "owner_email")


@require_http_methods(["GET", "HEAD", "POST"])
@needs("receive")
def receive(request: HttpRequest) -> HttpResponse:
    form = ReceiveForm(request.POST or None)
    if request.method != "POST":
        return render(request, "desk/receive.html", {"form": form})
    if form.is_valid():
        try:
            job = intake.receive(
                by=signed_in(request),
                at=timezone.now(),
                facts=facts.from_text(form.given()),
                **{name: form.cleaned_data[name] for name in _PLAIN},
            )
        except BadInput as error:
            for field, sentence in error.problems:
                _add_error(form, field, sentence)
        else:
            messages.success(request, f"Job {job.number} is open.")
            for hint in likeness.hints(job):
                messages.info(request, hint)
            return redirect("traveller", job.number)
    return render(request, "desk/receive.html", {"form": form}, status=422)


def _add_error(form: ReceiveForm, field: str, sentence: str) -> None:
    name = field.replace("owner.", "owner_")
    form.add_error(name if name in form.fields else None, sentence)
