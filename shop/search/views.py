"""Search, and jobs like this one."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.accounts.roles import may, needs
from shop.customers import services as customer_services
from shop.jobs import queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.web import htmx
from shop.manuals.queries import search_pages
from shop.parts.models import Part
from shop.search import queries as search_queries
from shop.search.scan_views import jobs_for

LONGEST = 200
SHOWN = 12


@require_GET
@needs("read")
def search(request: HttpRequest) -> HttpResponse:
    """Find jobs, customers and parts by words, slips forgiven, or by a code that was scanned."""
    typed = request.GET.get("q", "").replace("\0", " ").strip()[:LONGEST]
    context: dict[str, Any] = {"typed": typed}
    if typed:
        context |= {"result": search_queries.search_jobs(typed), "scanned": jobs_for(typed)[:SHOWN]}
        context["parts"] = _parts(typed)
        context["pages"] = search_pages(None, typed, SHOWN)
        if may(request.user, "note"):
            found = list(customer_services.listed(typed)[:SHOWN])
            jobs = customer_services.jobs_by_customer(found)
            context["customers"] = [(one, jobs.get(one.pk, [])) for one in found]
    return htmx.page(request, "search/search.html", "search/_found.html", context)


def _parts(typed: str) -> list[Part]:
    parts = Part.objects.all()
    for word in typed.split():
        parts = parts.filter(spec__icontains=word) | parts.filter(number__icontains=word)
    return list(parts[:SHOWN])


@require_GET
@job_page("read")
def similar(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Show earlier jobs of this model or kind, like in complaint, with what cured them."""
    symptoms = queries.record_of(job).facts.get("complaint.symptoms", [])
    words = [str(symptom) for symptom in symptoms] if isinstance(symptoms, list) else []
    context = {"job": job, "similar": search_queries.similar_jobs(job, words)}
    return render(request, "search/similar.html", context)
