"""Pages of the papers of a job."""

from __future__ import annotations

from datetime import datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.documents import pdf_documents, typesetting
from shop.estimates import services as estimate_services
from shop.jobs import queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError


def _page(
    request: HttpRequest,
    job: Job,
    now: datetime,
    *,
    error: UserFacingError | None = None,
    **_: str,
) -> HttpResponse:
    answers = [
        version.answer for version in estimate_services.sent_estimates(queries.record_of(job))
    ]
    context = {
        "job": job,
        "sent": bool(answers),
        "agreed": "yes" in answers,
        "sizes": typesetting.SIZES,
        "labels": typesetting.LABELS,
        "refused": str(error or ""),
    }
    return render(request, "documents/papers.html", context)


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
