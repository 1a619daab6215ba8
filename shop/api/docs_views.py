"""The page that describes the API; it is made from the same document as programs read."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.api import reading_document
from shop.api.app import api


@require_GET
@needs("read")
def api_docs(request: HttpRequest) -> HttpResponse:
    """Show every call: what it takes and what it answers."""
    document = api.get_openapi_schema(path_prefix="/api/v1/")
    context = {"subjects": reading_document.subjects(document)}
    return render(request, "api/docs.html", context)
