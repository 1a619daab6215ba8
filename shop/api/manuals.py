"""Manuals, schematics and data sheets: of a model, a job or a part, and pages beside the work."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils import timezone
from ninja import Router, Status
from pydantic import Field

from shop.api import schemas
from shop.api.app import person
from shop.api.once import Replay, once
from shop.jobs import queries as job_queries
from shop.lib.refusals import bad
from shop.manuals import queries, reading, services
from shop.manuals.models import Manual, PageLink
from shop.manuals.services import Owner
from shop.parts.models import Part

router = Router(tags=["manuals"])
MOST = 500


class PageLinkOut(schemas.Schema):
    """A page that is shown beside a step, a suspect or a fact of the model."""

    id: int
    page: int
    beside: Literal["step", "suspect", "fact"]
    key: str
    words: str


class ManualOut(schemas.Schema):
    """A file that is kept; its bytes are at `address`. It belongs to a model, a job or a part."""

    number: int = Field(validation_alias="pk")
    kind: Literal["manual", "schematic", "data-sheet", "paper"]
    title: str
    make: str
    model: str
    job: int | None = Field(validation_alias="job_id")
    part: int | None = Field(validation_alias="part_id")
    pages: int
    size: int
    sha256: str
    added_at: datetime
    address: str
    links: list[PageLinkOut]

    @staticmethod
    def resolve_address(manual: Manual) -> str:
        """Return where the file is."""
        return reverse("manual-pdf", args=[manual.pk])

    @staticmethod
    def resolve_links(manual: Manual) -> list[PageLink]:
        """Return its pages that are shown somewhere."""
        return list(manual.links.all())


class PageLinkIn(schemas.Strict):
    """A page, and what it is shown beside: a `key` of the pack, or the name of a fact of the unit."""

    page: int = Field(ge=1, lt=2**31)
    beside: Literal["step", "suspect", "fact"]
    key: str
    words: str = ""


def _manual(key: int) -> Manual:
    found = Manual.objects.filter(pk=key).first() if key < 2**63 else None
    if found is None:
        raise Http404(f"There is no manual {key}.")
    return found


def _owner(job: int | None, part: int | None, make: str, model: str) -> Owner:
    """Return the one thing that is named; BadInput for none and for several, 404 for one unknown."""
    named = [job is not None, part is not None, bool(make or model)]
    if sum(named) != 1:
        raise bad("job", "Name what it belongs to: job, or part, or make and model.")
    if job is not None:
        return Owner(job=job_queries.job(job, timezone.now()))
    if part is None:
        return services.of_model(make, model)
    found = Part.objects.filter(pk=part).first() if 0 < part < 2**63 else None
    if found is None:
        raise Http404(f"There is no part {part}.")
    return Owner(part=found)


@router.get("manuals/", response={200: list[ManualOut], **schemas.REFUSALS})
def manuals(
    request: HttpRequest,
    job: int | None = None,
    part: int | None = None,
    make: str = "",
    model: str = "",
) -> QuerySet[Manual]:
    """List the manuals of a part, of a make and model, or of a job with those of its model and parts."""
    person(request)
    owner = _owner(job, part, make, model)
    found = queries.of_job(owner.job) if owner.job else queries.of_owner(owner)
    return found.prefetch_related("links")[:MOST]


# The bytes of one file, as they are.
_BODY = {
    "requestBody": {
        "required": True,
        "content": {
            kind: {"schema": {"type": "string", "format": "binary"}}
            for kind in ("application/pdf", "application/octet-stream")
        },
    }
}


def _manual_again(replay: Replay) -> Manual:
    """Return the manual, which is not changed by being sent again; refused once it was taken away."""
    found = Manual.objects.filter(pk=replay.kept).first()
    if found is None:
        raise replay.overtaken("The manual was taken away since.")
    return found


@router.post("manuals/", response={201: ManualOut, **schemas.REFUSALS}, openapi_extra=_BODY)
# Reading takes seconds: nothing is locked meanwhile.
@once(kept=lambda manual: manual.pk, again=_manual_again, at_once=lambda given: True)
def add(
    request: HttpRequest,
    job: int | None = None,
    part: int | None = None,
    make: str = "",
    model: str = "",
    kind: str = "manual",
    title: str = "",
    name: str = "manual.pdf",
) -> Status[Manual]:
    """Keep a PDF, whose bytes are the body, for a job, a part, or a make and model.

    `kind` is manual, schematic, data-sheet or paper (of the customer). Without `title` it has that of
    `name`, the name of its file. 32 MB at most; the pages take larger files.
    """
    by = person(request, "note")
    # Whose it is comes first: it is cheap to judge, a file is not.
    owner, called = _owner(job, part, make, model), name or "The file"
    read = reading.read_pdf(called, request.body)
    kept = services.add_manual(
        owner, called, read, kind=kind, title=title, by=by, at=timezone.now()
    )
    return Status(201, kept)


@router.get("manuals/{int:key}/", response={200: ManualOut, **schemas.REFUSALS})
def manual(request: HttpRequest, key: int) -> Manual:
    """Return one of them."""
    person(request)
    return _manual(key)


@router.delete("manuals/{int:key}/", response={204: None, **schemas.REFUSALS})
def remove(request: HttpRequest, key: int) -> Status[None]:
    """Take a manual away for good, with every link to its pages."""
    by = person(request, "persons")
    services.remove_manual(_manual(key), by=by)
    return Status(204, None)


def _link_again(replay: Replay) -> PageLink:
    found = PageLink.objects.filter(pk=replay.kept).first()
    if found is None:
        raise replay.overtaken("The page is no longer shown there.")
    return found


@router.post("manuals/{int:key}/links/", response={201: PageLinkOut, **schemas.REFUSALS})
@once(kept=lambda link: link.pk, again=_link_again)
def link(request: HttpRequest, key: int, payload: PageLinkIn) -> Status[PageLink]:
    """Show a page beside a step, a suspect or a fact wherever the manual belongs to the job."""
    by, target = person(request, "note"), f"{payload.beside}-{payload.key}"
    made = services.link_page(
        _manual(key), payload.page, target, payload.words, by=by, at=timezone.now()
    )
    return Status(201, made)


@router.delete("manuals/links/{int:key}/", response={204: None, **schemas.REFUSALS})
def unlink(request: HttpRequest, key: int) -> Status[None]:
    """No longer show a page there."""
    by = person(request, "note")
    found = PageLink.objects.filter(pk=key).first() if key < 2**63 else None
    if found is None:
        raise Http404(f"There is no link {key}.")
    services.unlink_page(found, by=by)
    return Status(204, None)
