"""The page that a phone opens first: the certificate, and what to do with it."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from shop.lib import own_certificate


@require_GET
def trust(request: HttpRequest) -> HttpResponse:
    """Say how this machine is trusted."""
    return render(request, "pages/trust/trust.html", {"fingerprint": _files().fingerprint()})


@require_GET
def authority(request: HttpRequest) -> HttpResponse:
    """Give out the certificate in the form that phones install."""
    answer = HttpResponse(_files().authority_der(), content_type="application/x-x509-ca-cert")
    answer["Content-Disposition"] = 'attachment; filename="benchtag.crt"'
    return answer


def _files() -> own_certificate.Files:
    """Return the files; 404 where this machine has no certificate of its own in use."""
    files = own_certificate.in_folder(settings.DATA)
    if not settings.OWN_CERTIFICATE or not files.authority.exists():
        raise Http404(_("This shop has no certificate of its own."))
    return files
