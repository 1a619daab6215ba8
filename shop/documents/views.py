"""Pages of the papers of a job."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.documents import printing, typesetting
from shop.estimates import services as estimate_services
from shop.jobs import queries
from shop.lib.refusals import BadInput, Refused


@require_GET
@needs("read")
def papers(request: HttpRequest, number: int) -> HttpResponse:
    return _page(request, number)


@require_GET
@needs("read")
def paper(request: HttpRequest, number: int, name: str, size: str) -> HttpResponse:
    if name not in printing.TITLES:
        raise Http404
    sheet = queries.Traveller.of(queries.job(number, timezone.now()))
    try:
        made = printing.print_paper(name, sheet, size)
    except BadInput as error:
        return _page(request, number, str(error.problems[0][1]), 422)
    except Refused as error:
        return _page(request, number, error.sentence, 409)
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}-{number}.pdf"'
    return answer


def _page(request: HttpRequest, number: int, refused: str = "", status: int = 200) -> HttpResponse:
    job = queries.job(number, timezone.now())
    answers = [one.answer for one in estimate_services.sent(queries.record_of(job))]
    context = {
        "job": job,
        "sent": bool(answers),
        "agreed": "yes" in answers,
        "sizes": typesetting.SIZES,
        "labels": typesetting.LABELS,
        "refused": refused,
    }
    return render(request, "documents/papers.html", context, status=status)
