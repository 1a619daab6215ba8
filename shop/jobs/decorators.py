"""The decorator of every page of one job."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone

from shop.accounts.roles import needs
from shop.jobs import queries
from shop.lib.refusals import UserFacingError
from shop.lib.web.errors import View, with_status


def job_page(ability: str, *, on_error: View | None = None) -> Callable[[View], View]:
    """Make a page of one job: the view gets the job and the time in place of its number.

    Strangers sign in, the wrong role is 403, no such job is 404. What the view refuses
    (UserFacingError) is answered by `on_error(request, job, now, error=..., **kwargs)`: the
    page with what was typed, under the status of the error.
    """

    def mark(view: View) -> View:
        @needs(ability)
        @wraps(view)
        def page(request: HttpRequest, number: int, **kwargs: Any) -> HttpResponseBase:
            now = timezone.now()
            job = queries.job(number, now)
            try:
                return view(request, job, now, **kwargs)
            except UserFacingError as error:
                if on_error is None:
                    raise
                # Read again: what the job has become since may be the very reason.
                fresh = queries.job(number, now)
                return with_status(on_error(request, fresh, now, error=error, **kwargs), error)

        page.of_job = True  # type: ignore[attr-defined]
        return page

    return mark
