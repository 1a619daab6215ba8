"""Jobs from a spreadsheet on pages: the file, its columns, a look at all rows, then all or nothing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext, ngettext
from django.views.decorators.http import require_http_methods

from checklists.engine.figures import grouped
from shop.accounts.roles import needs, signed_in
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web import uploads
from shop.lib.web.errors import on_error
from shop.transfer import chosen_file, job_import, mapping, spreadsheet
from shop.transfer.models import ImportDraft

SHOWN, SAMPLES = 50, 3


def _file_page(request: HttpRequest, *, error: UserFacingError | None = None) -> HttpResponse:
    context = {
        "refused": str(error or ""),
        "largest": chosen_file.LARGEST_FILE >> 20,
        "most": chosen_file.MOST_ROWS,
    }
    return render(request, "transfer/import.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("import")
@on_error(_file_page)
def import_page(request: HttpRequest) -> HttpResponse:
    """Ask for a file; keep it, and go on to its columns."""
    if request.method != "POST":
        return _file_page(request)
    file = request.FILES.get("file")
    if file is None:
        too_large = uploads.dropped(request)
        raise bad(
            "file",
            gettext("The file is too large.") if too_large else gettext("No file was chosen."),
        )
    if (file.size or 0) > chosen_file.LARGEST_FILE:
        raise bad(
            "file",
            gettext("The file is larger than {number} MB; split it.").format(
                number=chosen_file.LARGEST_FILE >> 20
            ),
        )
    name = file.name or "The file"
    draft = mapping.start(name, file.read(), by=signed_in(request), at=timezone.now())
    return redirect("import-columns", draft.pk)


def _draft(request: HttpRequest, key: int) -> ImportDraft:
    return get_object_or_404(ImportDraft, pk=key, by=signed_in(request))


def _columns_page(
    request: HttpRequest, key: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    draft = _draft(request, key)
    rows, chosen = mapping.rows_of(draft), request.POST.getlist("column") or draft.mapping
    columns = [
        (name, [row[at] for row in rows[:SAMPLES] if row[at]], chosen[at : at + 1] or [""])
        for at, name in enumerate(draft.head)
    ]
    context: dict[str, Any] = {
        "draft": draft,
        "rows": len(rows),
        "columns": [(name, samples, taken[0]) for name, samples, taken in columns],
        "ours": spreadsheet.COLUMNS,
        "refused": str(error or ""),
    }
    return render(request, "transfer/import_columns.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("import")
@on_error(_columns_page)
def import_columns(request: HttpRequest, key: int) -> HttpResponse:
    """Ask what each column is; keep it, and go on to the rows."""
    if request.method != "POST":
        return _columns_page(request, key)
    mapping.choose(_draft(request, key), request.POST.getlist("column"))
    return redirect("import-rows", key)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("import")
def import_rows(request: HttpRequest, key: int) -> HttpResponse:
    """Show what every row would become, or each fault; import all of it when asked to."""
    draft, by, now = _draft(request, key), signed_in(request), timezone.now()
    content = mapping.content_of(draft)
    look = job_import.import_content(draft.name, content, by=by, at=now, dry_run=True)
    if request.method == "POST" and not look.errors:
        return _imported(request, draft, content)
    rows = [row for _, row in zip(range(SHOWN), spreadsheet.lines(content), strict=False)]
    context = {
        "draft": draft,
        "look": look,
        "errors": look.errors[:SHOWN],
        "names": [name for name in draft.mapping if name],
        "rows": [list(row.values()) for _, row in rows],
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "transfer/import_rows.html", context, status=status)


def _imported(request: HttpRequest, draft: ImportDraft, content: bytes) -> HttpResponse:
    """Import; of two who press at once, one does."""
    mapping.remember(draft)
    if ImportDraft.objects.filter(pk=draft.pk).delete()[0]:
        by, now = signed_in(request), timezone.now()
        try:
            done = job_import.import_content(draft.name, content, by=by, at=now)
        except job_import.Interrupted as error:
            messages.warning(request, str(error))
            return redirect("jobs")
        for sentence in [*done.errors, *done.notes]:
            messages.warning(request, sentence)
        came = ngettext(
            "{count} job came in from {name}.",
            "{count} jobs came in from {name}.",
            len(done.numbers),
        )
        messages.success(request, came.format(count=grouped(len(done.numbers)), name=draft.name))
    return redirect("jobs")
