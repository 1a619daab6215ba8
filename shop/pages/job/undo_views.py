"""Undo: a sign-off is taken back within seconds, from the card that follows it."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from shop.accounts.roles import signed_in
from shop.jobs import commands, queries
from shop.jobs.commands.undoing import of_one_tap
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.refusals import UserFacingError
from shop.pages.job.views import done, page


def _refused(
    request: HttpRequest, job: Job, now: datetime, *, error: UserFacingError, row: int
) -> HttpResponse:
    """Show the act as it is now, and the way that is left: withdrawing the entry with a reason."""
    return page(request, job, now, error=error, late_row=row)


@require_POST
@job_page("sign", on_error=_refused)
def undo(request: HttpRequest, job: Job, now: datetime, row: int) -> HttpResponse:
    """Withdraw what was just signed, and show its step again."""
    rows = queries.rows_of(job)
    commands.undo(job.number, row, by=signed_in(request), at=now)
    undone = [one.data for one in of_one_tap(rows, rows[row - 1])]
    titles = ", ".join(str(data.get("title", _("the signature"))) for data in undone)
    said = ngettext(
        "Undone: {titles}. It is not signed.", "Undone: {titles}. They are not signed.", len(undone)
    ).format(titles=titles)
    key = str(undone[0].get("step", ""))
    listed = queries.Traveller.of(queries.job(job.number, now)).checklist.by_key
    return done(request, job, now, said, key=key if key in listed else "")
