"""The page on which an intake is corrected: the unit, the complaint, whose it is, how it came."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shop.accounts.roles import signed_in
from shop.customers import correcting
from shop.customers.models import Customer, Intake
from shop.intake.forms import ReceiveForm
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, UserFacingError
from shop.lib.web.forms import add_problems, cleaned

_OF_UNIT = ("make", "model", "serial", "complaint")
_OF_CUSTOMER = {f"customer_{name}": name for name in ("name", "email", "phone")}
_OF_ARRIVAL = {f"customer_{name}": name for name in ("came_by", "parcel", "accessories")}


class CorrectForm(forms.Form):
    """What was taken down at intake, with the fields of the form that took it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        taken = ReceiveForm.base_fields
        names = (*_OF_UNIT, *_OF_CUSTOMER, *_OF_ARRIVAL)
        self.fields = {name: taken[name] for name in names}

    def corrections(self) -> dict[str, Any]:
        """Return what was changed, as the service takes it; a person is told whole."""
        data, changed = cleaned(self), set(self.changed_data)
        unit = {name: data[name] for name in _OF_UNIT if name in changed}
        came = {name: data[field] for field, name in _OF_ARRIVAL.items() if field in changed}
        person = {name: data[field] for field, name in _OF_CUSTOMER.items()}
        return {
            **unit,
            "arrival": came,
            "customer": person if changed & _OF_CUSTOMER.keys() else {},
        }


def _now_on_record(job: Job) -> dict[str, Any]:
    intake = Intake.objects.select_related("customer").filter(job=job).first() or Intake()
    customer = intake.customer or Customer()
    unit = {name: getattr(job.unit, name) for name in ("make", "model", "serial")}
    return {
        **unit,
        "complaint": job.complaint,
        **{field: getattr(customer, name) for field, name in _OF_CUSTOMER.items()},
        **{field: getattr(intake, name) for field, name in _OF_ARRIVAL.items()},
    }


def _page(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError | None = None
) -> HttpResponse:
    form = CorrectForm(request.POST if error else None, initial=_now_on_record(job))
    if isinstance(error, BadInput):
        add_problems(
            form, error, lambda field: field.replace(".", "_").replace("arrival", "customer")
        )
    context = {
        "job": job,
        "form": form,
        "refused": error,
        "customer": Customer.objects.filter(intakes__job=job).first(),
        "groups": (
            (_("The unit"), [form[name] for name in _OF_UNIT]),
            (_("Whose it is"), [form[name] for name in _OF_CUSTOMER]),
            (_("How it came"), [form[name] for name in _OF_ARRIVAL]),
        ),
    }
    return render(request, "intake/correct.html", context)


@require_http_methods(["GET", "POST"])
@job_page("receive", on_error=_page)
def correct(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Show the intake as it is on record, and correct what was changed."""
    if request.method != "POST":
        return _page(request, job, now)
    corrections = CorrectForm(request.POST, initial=_now_on_record(job)).corrections()
    correcting.correct_intake(job.number, by=signed_in(request), at=now, **corrections)
    messages.success(
        request, _("The intake is corrected; what it said before stands in the ledger.")
    )
    return redirect("job", job.number)
