"""The page from which the whole shop is exported."""

from __future__ import annotations

import tempfile

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from shop.accounts.roles import needs
from shop.transfer import export


@require_GET
@needs("persons")
def export_page(request: HttpRequest) -> HttpResponse:
    return render(request, "transfer/export.html", {"command": settings.COMMAND})


@require_POST
@needs("persons")
def download(request: HttpRequest) -> FileResponse:
    """Send the export as one file."""
    now = timezone.localtime()
    file = tempfile.TemporaryFile()  # noqa: SIM115 - closed by the response
    export.export_shop(file, now=now)
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=f"benchtag-{now:%Y%m%d-%H%M}.zip")
