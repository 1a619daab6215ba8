"""The calendar itself, and the page on which a person gets its address."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from shop.accounts import roles
from shop.accounts.roles import needs, signed_in
from shop.calendars import days, feed, services
from shop.calendars.models import CalendarAddress
from shop.preferences import current as preferences


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
def calendar(request: HttpRequest) -> HttpResponse:
    """Tell whether there is an address; make a new one, shown once, or take it away."""
    person, address = signed_in(request), ""
    if request.method == "POST" and request.POST.get("act") == "stop":
        services.stop(person)
        messages.success(request, _("The address opens nothing any more."))
        return redirect("calendar")
    if request.method == "POST":
        token = services.renew(person, at=timezone.now())
        address = preferences.value("address") + reverse("calendar-feed", args=[token])
    known = CalendarAddress.objects.filter(person=person).first()
    return render(request, "calendars/calendar.html", {"known": known, "address": address})


@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Give out the calendar that the token opens; nothing can be written through it."""
    now = timezone.now()
    person = services.opened(token, at=now)
    if person is None:
        answer = HttpResponse("No calendar is at this address.\n", "text/plain", status=404)
    else:
        found = days.entries(
            now,
            with_calls=roles.may(person, "note"),
            with_arrivals=roles.may(person, "receive"),
        )
        answer = HttpResponse(feed.written(found, now=now), content_type=feed.CONTENT_TYPE)
        answer["Content-Disposition"] = 'inline; filename="benchtag.ics"'
    answer["Cache-Control"] = "private, no-store"
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex"
    return answer
