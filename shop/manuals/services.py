"""Manuals come, their pages are named beside steps, suspects and facts, and they go again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePosixPath
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext

from checklists import published
from checklists.engine.vocabulary import VOCABULARY
from shop.accounts import roles
from shop.jobs.models import Job
from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.lib.text import quoted
from shop.lib.tokens import words_of
from shop.manuals.models import Manual, ManualFile, ManualPage, PageLink
from shop.manuals.reading import ReadPdf
from shop.parts.models import Part

MOST_OF_ONE = 200


@dataclass(frozen=True)
class Owner:
    """What a manual belongs to: a make and model, or a job, or a part."""

    make: str = ""
    model: str = ""
    job: Job | None = None
    part: Part | None = None

    def columns(self) -> dict[str, Any]:
        """Return the columns of Manual that say so."""
        return {"make": self.make, "model": self.model, "job": self.job, "part": self.part}


def of_model(make: str, model: str) -> Owner:
    """Return a make and model as owner; BadInput when one is empty."""
    return Owner(
        make=text.take("make", make, 120, needed=True),
        model=text.take("model", model, 120, needed=True),
    )


@transaction.atomic
def add_manual(
    owner: Owner, name: str, read: ReadPdf, *, kind: str, title: str, by: User, at: datetime
) -> Manual:
    """Keep a file that was read; without a title it has that of its file. BadInput, Refused."""
    roles.require(by, "note")
    if kind not in dict(Manual.KINDS):
        raise bad(
            "kind", gettext("kind is {kind!r}; choose what the file is.").format(kind=kind[:40])
        )
    kept_title = text.take("title", title, 200) or _title_of(name)
    _require_room(owner, name, read)
    manual = Manual.objects.create(
        **owner.columns(),
        kind=kind,
        title=kept_title,
        pages=len(read.texts),
        size=len(read.raw),
        sha256=read.sha256,
        added_at=at,
        by=by,
    )
    ManualFile.objects.create(manual=manual, pdf=read.raw, cover=read.cover)
    ManualPage.objects.bulk_create(_pages(manual, read.texts), batch_size=200)
    return manual


def _title_of(name: str) -> str:
    stem = PurePosixPath(name.replace("\\", "/")).stem
    return "".join(letter for letter in stem if letter.isprintable()).strip()[:200] or "Manual"


def _require_room(owner: Owner, name: str, read: ReadPdf) -> None:
    here = Manual.objects.filter(**owner.columns())
    same = here.filter(sha256=read.sha256).first()
    if same is not None:
        raise bad(
            "file",
            gettext("{name} is here already, as {title}.").format(
                name=quoted(name), title=quoted(same.title)
            ),
        )
    if here.count() >= MOST_OF_ONE:
        raise refuse(
            "many",
            gettext("{most_of_one} files are here; that is all that is kept in one place.").format(
                most_of_one=MOST_OF_ONE
            ),
        )


def _pages(manual: Manual, texts: list[str]) -> list[ManualPage]:
    return [
        ManualPage(manual=manual, number=number, text=page, words=searched(page))
        for number, page in enumerate(texts, start=1)
        if page
    ]


def searched(page: str) -> str:
    """Return the words of a text as they are looked for, each after a blank."""
    return "".join(f" {word}" for word in words_of(page))


def remove_manual(manual: Manual, *, by: User) -> None:
    """Take a manual away for good, with its file, its text and every link to its pages."""
    roles.require(by, "persons")
    manual.delete()


def papers_of(jobs: QuerySet[Job]) -> list[dict[str, Any]]:
    """Return the papers of the customer on these jobs: job, title, moment."""
    papers = Manual.objects.filter(job__in=jobs, kind=Manual.PAPER).order_by("job", "pk")
    return [
        {"job": paper.job_id, "title": paper.title, "added_at": paper.added_at} for paper in papers
    ]


def remove_papers(jobs: QuerySet[Job]) -> None:
    """Take away what may name a person: the papers of the customer on these jobs."""
    Manual.objects.filter(job__in=jobs, kind=Manual.PAPER).delete()


def link_page(
    manual: Manual, page: int, target: str, words: str, *, by: User, at: datetime
) -> PageLink:
    """Show a page beside 'step-KEY', 'suspect-KEY' or 'fact-NAME'; BadInput for what is not there."""
    roles.require(by, "note")
    require_page(manual, page)
    beside, _, key = target.partition("-")
    if not _known(beside, key):
        raise bad(
            "beside",
            gettext("beside is {target!r}; choose what the page is shown beside.").format(
                target=target[:80]
            ),
        )
    kept = text.take("words", words, 200)
    link, _ = PageLink.objects.update_or_create(
        manual=manual,
        page=page,
        beside=beside,
        key=key,
        defaults={"words": kept, "by": by, "at": at},
    )
    return link


def require_page(manual: Manual, page: int) -> None:
    """Raise BadInput for a page that the manual does not have."""
    if not 1 <= page <= manual.pages:
        raise bad(
            "page",
            gettext("page is {page}; {title} has pages 1 to {pages}.").format(
                page=page, title=quoted(manual.title), pages=manual.pages
            ),
        )


def _known(beside: str, key: str) -> bool:
    pack = published.current()
    if beside == PageLink.STEP:
        return key in pack.steps
    if beside == PageLink.SUSPECT:
        return any(suspect.key == key for suspect in pack.suspects)
    return beside == PageLink.FACT and key.startswith("unit.") and key in VOCABULARY


def unlink_page(link: PageLink, *, by: User) -> None:
    """No longer show a page there."""
    roles.require(by, "note")
    link.delete()
