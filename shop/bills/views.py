"""Pages of bills: those of a job, all of them, and what is owed."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs, signed_in
from shop.bills import (
    accounts_csv,
    einvoice,
    issuing,
    mailing,
    paper,
    payments,
    queries,
    reminder_paper,
    seller,
    services,
)
from shop.bills.buyer import buyer_of
from shop.bills.comparing import compare
from shop.bills.forms import PaymentForm, draft_form, lines_formset, lines_from_formset
from shop.bills.models import Bill, NothingToBill
from shop.documents import typesetting
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.money import formatted
from shop.lib.refusals import BadInput, Refused, UserFacingError, bad
from shop.lib.web.confirming import Question, unless_sure
from shop.lib.web.errors import on_error
from shop.lib.web.forms import cleaned
from shop.messages.models import Message
from shop.preferences import current as preferences

SHOWN = 200


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    **_: Any,
) -> HttpResponse:
    today = timezone.localdate(now)
    every = queries.of_job(job)
    context = {
        "job": job,
        "bills": [_shown(bill, request, today) for bill in every if bill.issued],
        "nothing": NothingToBill.objects.filter(job=job).first(),
        "missing": seller.missing(),
        "sizes": typesetting.sizes(),
        "refused": str(error or ""),
    }
    return render(request, "bills/job_bills.html", context | _draft(request, every, today))


def _shown(bill: Bill, request: HttpRequest, today: date) -> dict[str, Any]:
    return {
        "bill": bill,
        "state": queries.state(bill, today),
        "totals": bill.totals(),
        "remaining": queries.remaining(bill),
        "payment": _payment_form(bill, request, today),
        "sent": mailing.messages_of(bill, mailing.BILL),
        "reminded": mailing.messages_of(bill, mailing.PAYMENT),
    }


def _payment_form(bill: Bill, request: HttpRequest, today: date) -> PaymentForm:
    typed = request.POST if request.POST.get("bill") == str(bill.pk) else None
    owed = max(bill.owed, 0) if bill.issued else ""  # type: ignore[attr-defined]
    amount = f"{owed:.2f}" if owed else ""
    initial = {"amount": amount, "paid_on": today}
    return PaymentForm(typed, initial=initial, prefix=f"pay{bill.pk}")


def _draft(request: HttpRequest, every: list[Bill], today: date) -> dict[str, Any]:
    """Return what is not issued yet with its forms, as typed when they were."""
    draft = next((bill for bill in every if not bill.issued), None)
    if draft is None:
        return {"draft": None}
    typed = request.POST if "line-TOTAL_FORMS" in request.POST else None
    return {
        "draft": draft,
        "form": draft_form(draft, typed),
        "lines": lines_formset(draft, typed),
        "totals": draft.totals(),
        "buyer": _buyer(draft),
        "comparison": None if draft.is_credit else compare(draft),
        "seen": services.digest(draft),
        "payment": _payment_form(draft, request, today),
    }


def _buyer(draft: Bill) -> tuple[str, str]:
    buyer = buyer_of(draft)
    return buyer.name, ", ".join(buyer.postal.lines(seen_from=preferences.value("country")))


@require_GET
@job_page("read")
def job_bills(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job, now)


@require_POST
@job_page("bill", on_error=_page)
def start(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    services.get_or_create_draft(job.number, by=signed_in(request), at=now)
    return redirect("job-bills", job.number)


@require_POST
@job_page("bill", on_error=_page)
def change(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Keep the draft as typed; issue it, make it anew or drop it when that was the button."""
    by, act = signed_in(request), request.POST.get("act")
    if act == "drop":
        services.drop_draft(job.number, by=by)
        messages.success(request, _("The draft is dropped."))
    elif act == "anew":
        services.draft_anew(job.number, by=by)
        messages.success(request, _("The lines are those of the record as it is now."))
    elif act == "issue":
        return _issue(request, job, now)
    else:
        _keep(request, job)
        messages.success(request, _("The draft is kept."))
    return redirect("job-bills", job.number)


def _issue(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Keep the draft; refuse at once what cannot be issued, ask once, and issue it."""
    draft = _keep(request, job)
    reasons = issuing.against(draft)
    if reasons:
        raise Refused(reasons)
    posted = request.POST.copy()
    posted["seen"] = services.digest(draft)
    request.POST = posted  # type: ignore[assignment]
    asked = unless_sure(request, _question(draft))
    if asked is not None:
        return asked
    bill = issuing.issue(job.number, by=signed_in(request), at=now)
    messages.success(request, _("{bill} is issued.").format(bill=bill))
    return redirect("job-bills", job.number)


def _question(draft: Bill) -> Question:
    if draft.is_credit:
        title, button = _("Issue the credit note to {name}, {sum}?"), _("Issue the credit note")
    else:
        title, button = _("Issue the bill to {name}, {sum}?"), _("Issue the bill")
    totals = draft.totals()
    return Question(
        title=title.format(name=buyer_of(draft).name, sum=formatted(totals.gross, totals.currency)),
        follows=[_("It gets its number and never changes; a correction is a credit note.")],
        button=button,
        back=reverse("job-bills", args=[draft.job_id]),
    )


def _keep(request: HttpRequest, job: Job) -> Bill:
    draft = services.draft_of_job(job)
    if draft is None:
        raise services.no_draft()
    form, lines = draft_form(draft, request.POST), lines_formset(draft, request.POST)
    if not (form.is_valid() and lines.is_valid()):
        raise _wrong(lines)
    given = form.cleaned_data | {"terms_days": form.cleaned_data["terms_days"] or 0}
    return services.save_draft(
        job.number,
        given,
        lines_from_formset(lines),
        by=signed_in(request),
        seen=request.POST.get("seen"),
    )


def _wrong(lines: Any) -> BadInput:
    of_all_lines = [str(error) for error in lines.non_form_errors()]
    return bad(
        "lines", " ".join([_("Nothing is kept: see the fields marked below."), *of_all_lines])
    )


@require_POST
@job_page("bill", on_error=_page)
def nothing(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    reason = request.POST.get("reason", "")
    services.bill_nothing(job.number, reason, by=signed_in(request), at=now)
    messages.success(request, _("Noted: nothing is billed."))
    return redirect("job-bills", job.number)


@require_POST
@job_page("bill", on_error=_page)
def pay(request: HttpRequest, job: Job, now: datetime, key: int) -> HttpResponse:
    bill = get_object_or_404(Bill, pk=key, job=job)
    given = cleaned(PaymentForm(request.POST, prefix=f"pay{bill.pk}"))
    payments.pay(bill.pk, **given, by=signed_in(request), at=now)
    messages.success(request, _("The payment is noted."))
    return redirect("job-bills", job.number)


@require_POST
@job_page("bill", on_error=_page)
def credit(request: HttpRequest, job: Job, now: datetime, key: int) -> HttpResponse:
    bill = get_object_or_404(Bill, pk=key, job=job)
    services.draft_credit(bill.pk, by=signed_in(request), at=now)
    return redirect("job-bills", job.number)


@require_POST
@job_page("bill", on_error=_page)
def send(request: HttpRequest, job: Job, now: datetime, key: int) -> HttpResponse:
    bill = get_object_or_404(Bill, pk=key, job=job)
    written = mailing.send(bill.pk, by=signed_in(request), at=now)
    _say_how(request, written, _("It goes out by e-mail, with the PDF."))
    return redirect("job-bills", job.number)


@require_POST
@job_page("bill", on_error=_page)
def remind(request: HttpRequest, job: Job, now: datetime, key: int) -> HttpResponse:
    bill = get_object_or_404(Bill, pk=key, job=job)
    written = mailing.remind(bill.pk, by=signed_in(request), at=now)
    _say_how(request, written, _("The reminder goes out by e-mail, with the bill."))
    return redirect("job-bills", job.number)


def _say_how(request: HttpRequest, written: Message, by_mail: str) -> None:
    by_hand = _("No mail reaches this customer: it stands under Messages, for you to tell.")
    messages.success(request, by_hand if written.way == Message.HAND else by_mail)


@require_GET
@job_page("read")
def bill_xml(request: HttpRequest, job: Job, now: datetime, key: int) -> HttpResponse:
    """The electronic invoice by itself, without the paper."""
    issued = Bill.objects.select_related("corrects").filter(place__isnull=False)
    bill = get_object_or_404(issued, pk=key, job=job)
    answer = HttpResponse(einvoice.xml_of(bill), content_type="application/xml")
    name = paper.file_name(bill).replace(".pdf", ".xml")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_GET
@job_page("read", on_error=_page)
def bill_paper(request: HttpRequest, job: Job, now: datetime, key: int, size: str) -> HttpResponse:
    bill = get_object_or_404(Bill.objects.select_related("job__unit", "corrects"), pk=key, job=job)
    return _pdf(paper.pdf_of(bill, size), paper.file_name(bill))


@require_GET
@job_page("note", on_error=_page)
def reminder(request: HttpRequest, job: Job, now: datetime, key: int, size: str) -> HttpResponse:
    """Print a reminder that waits for a person."""
    message = get_object_or_404(Message, pk=key, job=job, about=mailing.PAYMENT)
    name = reminder_paper.file_name(mailing.bill_of(message))
    return _pdf(reminder_paper.pdf_of(message, size), name)


def _pdf(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer


@require_GET
@needs("read")
def bills(request: HttpRequest) -> HttpResponse:
    """Show what nobody billed, drafts, and what was issued, newest first."""
    today = timezone.localdate()
    drafts = queries.bills().filter(place=None).order_by("pk")
    issued = queries.bills().filter(place__isnull=False).order_by("-year", "-place")[:SHOWN]
    context = {
        "to_bill": queries.to_bill().exclude(pk__in=drafts.values("job"))[:SHOWN],
        "drafts": drafts[:SHOWN],
        "issued": [(bill, _(queries.state(bill, today))) for bill in issued],
        "first": today.replace(month=1, day=1),
        "today": today,
        "missing": seller.missing(),
    }
    return render(request, "bills/bills.html", context)


@require_GET
@needs("read")
def owed(request: HttpRequest) -> HttpResponse:
    """Show what is owed, by how long it has been due."""
    context = {"currencies": queries.ageing(timezone.localdate()), "ages": queries.AGES}
    return render(request, "bills/owed.html", context)


def _bills_again(request: HttpRequest, *, error: UserFacingError, **_: Any) -> HttpResponseBase:
    messages.warning(request, str(error))
    return bills(request)


@require_GET
@needs("bill")
@on_error(_bills_again)
def table(request: HttpRequest, name: str) -> HttpResponse:
    """Send bills or payments between two days as a table for the accountant."""
    first, last = _day(request, "first"), _day(request, "last")
    write = {"bills": accounts_csv.bills_csv, "payments": accounts_csv.payments_csv}[name]
    answer = HttpResponse(write(first, last), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}-{first}-{last}.csv"'
    return answer


def _day(request: HttpRequest, name: str) -> date:
    try:
        return date.fromisoformat(request.GET.get(name, ""))
    except ValueError:
        raise bad(
            name, _("{name} is no day; write it like 2031-03-02.").format(name=name)
        ) from None
