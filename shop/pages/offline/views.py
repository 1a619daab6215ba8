"""The service worker, and the page of what a browser keeps without a connection."""

from __future__ import annotations

import json
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.views.decorators.http import require_GET

from shop.accounts.roles import needs
from shop.jobs.events.finding_recorded import FindingForm
from shop.jobs.events.note_added import AnyNoteForm
from shop.pages.offline.forms import ReadingForm


@require_GET
@needs("read")
def offline(request: HttpRequest) -> HttpResponse:
    """Show copies and entries that wait; what they are, the browser alone knows."""
    typed = {
        "note": AnyNoteForm(auto_id="later-%s"),
        "finding": FindingForm(auto_id="later-finding-%s"),
        "reading": ReadingForm(auto_id="later-reading-%s"),
    }
    return render(request, "pages/offline/offline.html", typed)


@require_GET
def service_worker(request: HttpRequest) -> HttpResponse:
    """Give out the script of the worker; a browser asks for it anew, so that a new one is taken at once."""
    script = Path(str(finders.find("shop/service-worker.js"))).read_text(encoding="utf-8")
    folder = f"self.STATIC_FOLDER = {json.dumps(static('shop/'))};\n"
    answer = HttpResponse(folder + script, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache"
    return answer
