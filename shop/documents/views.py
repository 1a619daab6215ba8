"""Pages of the papers of a job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from shop.documents import pdf_documents, typesetting, zpl
from shop.estimates import services as estimate_services
from shop.jobs import queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.jobs.stages import Stage
from shop.lib.refusals import UserFacingError


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    **_: str,
) -> HttpResponse:
    sent = estimate_services.sent_estimates(queries.record_of(job))
    listed = _listed(job, sent=bool(sent))
    chosen = next((one for one in listed if one.name == request.GET.get("show")), listed[0])
    context = {"job": job, "papers": listed, "chosen": chosen, "refused": str(error or "")}
    context["densities"] = list(zpl.DENSITIES)
    return render(request, "documents/papers.html", context)


@dataclass(frozen=True)
class Paper:
    """A paper as the page offers it; `not_yet` says when it can be had, empty: now."""

    name: str
    about: str
    not_yet: str = ""

    @property
    def title(self) -> str:
        """What it is called."""
        return str(pdf_documents.TITLES[self.name])

    @property
    def for_printers(self) -> bool:
        """Whether it comes in the language of label printers too."""
        return self.name == "label"

    @property
    def sizes(self) -> list[tuple[str, str]]:
        """The sizes it comes in, each with what people call it."""
        if self.name == "label":
            return [(size, f"{size} mm") for size in typesetting.LABELS]
        return list(typesetting.sizes().items())


def _listed(job: Job, *, sent: bool) -> list[Paper]:
    """Return every paper of a job, the one that goes with the unit first."""
    released, withdrawn = job.stage == Stage.RELEASED, job.stage == Stage.WITHDRAWN
    return [
        Paper(
            "traveller", _("Goes with the unit: facts, steps with limits, what was said and done.")
        ),
        Paper("label", _("The number, the unit, and a code that opens this job on a phone.")),
        Paper(
            "receipt",
            _(
                "For the customer at the counter: what was handed in, how it looked, the terms, signatures."
            ),
        ),
        Paper(
            "estimate",
            _("The version sent last, with its figures and the answer."),
            "" if sent else _("Once an estimate is sent."),
        ),
        Paper(
            "release",
            _(
                "Complaint, findings, work, parts, readings before and after, soak, trials, signatures."
            ),
            "" if released else _("Once the unit is released."),
        ),
        Paper(
            "handback",
            _("For a unit that goes back unrepaired: what was found, what is open, the warning."),
            "" if withdrawn else _("Once the unit is withdrawn."),
        ),
        Paper(
            "packing",
            _(
                "What came with the unit and goes back, and what to look at before the parcel is closed."
            ),
            "" if job.closed else _("Once the unit leaves."),
        ),
    ]


@require_GET
@job_page("read")
def papers(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    return _page(request, job, now)


@require_GET
@job_page("read", on_error=_page)
def paper(request: HttpRequest, job: Job, now: datetime, name: str, size: str) -> HttpResponse:
    if name not in pdf_documents.TITLES:
        raise Http404
    pdf = pdf_documents.render_pdf(name, queries.Traveller.of(job), size)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}-{job.number}.pdf"'
    return answer


@require_GET
@job_page("read", on_error=_page)
def label_zpl(
    request: HttpRequest, job: Job, now: datetime, size: str, density: str
) -> HttpResponse:
    """The label in the language of label printers, as a file to send to one."""
    label = zpl.label(queries.Traveller.of(job), size, density)
    answer = HttpResponse(label.encode(), content_type=zpl.CONTENT_TYPE)
    answer["Content-Disposition"] = f'attachment; filename="label-{job.number}.zpl"'
    return answer


@require_GET
@job_page("read")
def preview(request: HttpRequest, job: Job, now: datetime, name: str, size: str) -> HttpResponse:
    """The first page of a paper as a picture, for the screen beside the list."""
    if name not in pdf_documents.TITLES:
        raise Http404
    picture = pdf_documents.render_preview(name, queries.Traveller.of(job), size)
    return HttpResponse(picture, content_type="image/png")
