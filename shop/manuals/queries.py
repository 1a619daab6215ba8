"""Which manuals a job has, what stands on their pages, and which pages are shown beside what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from checklists import published
from checklists.engine.vocabulary import VOCABULARY
from shop.jobs.facts import shown_label
from shop.jobs.models import Job, JobPart, Unit
from shop.lib.pack_words import pack_text
from shop.lib.prepared import Prepared
from shop.lib.text import spaced
from shop.lib.tokens import phrases_of
from shop.manuals.models import Manual, ManualPage, PageLink
from shop.manuals.services import Owner, searched

MOST_FOUND = 40
MOST_PHRASES = 8
_EXCERPT = 160


@dataclass(frozen=True)
class FoundPage:
    """A page that has all the words, and the line of it that has most of them."""

    manual: Manual
    number: int
    excerpt: str


def of_owner(owner: Owner) -> QuerySet[Manual]:
    """Return the manuals of a model, a job or a part, by title."""
    return Manual.objects.filter(**owner.columns()).select_related("by")


def of_job(job: Job) -> QuerySet[Manual]:
    """Return the manuals of a job: its own, those of its model, those of the parts that it needs."""
    unit, parts = job.unit, JobPart.objects.filter(job=job, part__isnull=False)
    theirs = Q(job=job) | Q(part__in=parts.values("part"))
    if unit.make and unit.model:
        theirs |= Q(make=unit.make, model=unit.model)
    return Manual.objects.filter(theirs)


def search_pages(
    manuals: QuerySet[Manual] | None, typed: str, limit: int = MOST_FOUND
) -> list[FoundPage]:
    """Return the pages that have all words typed, each the beginning of a word; None: of all manuals."""
    phrases = [" " + " ".join(phrase) for phrase in phrases_of(typed)[:MOST_PHRASES]]
    if not phrases:
        return []
    pages = ManualPage.objects.select_related("manual").order_by(
        "manual__title", "manual", "number"
    )
    if manuals is not None:
        pages = pages.filter(manual__in=manuals)
    for phrase in phrases:
        pages = pages.filter(words__contains=phrase)
    found = pages.defer("words")[:limit]
    return [FoundPage(page.manual, page.number, _excerpt(page.text, phrases)) for page in found]


def _excerpt(text: str, phrases: Sequence[str]) -> str:
    """Return the line that has most of the phrases, cut around the first of them."""
    lines = [(line, searched(line)) for line in text.splitlines()] or [("", "")]
    line, words = max(lines, key=lambda one: sum(phrase in one[1] for phrase in phrases))
    if len(line) <= _EXCERPT:
        return line
    place = next((words.find(phrase) for phrase in phrases if phrase in words), 0)
    # Folded words are about as long as the line they are from.
    start = max(0, min(place * len(line) // max(len(words), 1) - 40, len(line) - _EXCERPT))
    return f"{'…' if start else ''}{line[start : start + _EXCERPT].strip()}…"


@dataclass(frozen=True)
class Beside:
    """What a page is shown beside, in words."""

    link: PageLink
    title: str


def _links_of_number(job: int, unit: int) -> QuerySet[PageLink]:
    of_model = Unit.objects.filter(
        pk=unit, make=OuterRef("manual__make"), model=OuterRef("manual__model")
    ).exclude(make="")
    of_part = JobPart.objects.filter(job=job, part=OuterRef("manual__part"))
    links = PageLink.objects.filter(Q(manual__job=job) | Exists(of_model) | Exists(of_part))
    return links.select_related("manual").order_by("manual__title", "page")


# Every card of a job asks.
_LINKS_OF_JOB = Prepared(_links_of_number, int, int)


def links_of_job(job: Job) -> dict[tuple[str, str], list[PageLink]]:
    """Return the pages shown on a job, by what they stand beside; one query, kept with the job."""
    if "_page_links" not in job.__dict__:
        found: dict[tuple[str, str], list[PageLink]] = defaultdict(list)
        for link in _LINKS_OF_JOB(job.number, job.unit_id):
            found[link.beside, link.key].append(link)
        job.__dict__["_page_links"] = found
    kept: dict[tuple[str, str], list[PageLink]] = job.__dict__["_page_links"]
    return kept


def _links(manuals: QuerySet[Manual]) -> QuerySet[PageLink]:
    links = PageLink.objects.filter(manual__in=manuals).select_related("manual")
    return links.order_by("manual__title", "page")


def links_in_words(manuals: QuerySet[Manual]) -> list[Beside]:
    """Return the pages of manuals that are shown somewhere, each with the name of that place."""
    return [Beside(link, title_of(link)) for link in _links(manuals)]


def links_of_facts(owner: Owner) -> dict[str, list[PageLink]]:
    """Return the pages shown beside the facts of a model, by the name of the fact."""
    found: dict[str, list[PageLink]] = defaultdict(list)
    for link in _links(of_owner(owner)).filter(beside=PageLink.FACT):
        found[link.key].append(link)
    return found


def title_of(link: PageLink) -> str:
    """Return what a page stands beside; a step or suspect that the pack no longer has by its key."""
    pack = published.current()
    if link.beside == PageLink.STEP and link.key in pack.steps:
        return pack_text(pack.steps[link.key].title)
    if link.beside == PageLink.FACT and link.key in VOCABULARY:
        return shown_label(VOCABULARY[link.key])
    titles = {suspect.key: pack_text(suspect.title) for suspect in pack.suspects}
    return titles.get(link.key, spaced(link.key))


def places() -> list[tuple[str, list[tuple[str, str]]]]:
    """Return what a page can be shown beside, as groups of value and words."""
    pack = published.current()
    facts = [fact for fact in VOCABULARY.values() if fact.name.startswith("unit.")]
    steps = sorted((pack_text(step.title), key) for key, step in pack.steps.items())
    suspects = sorted((pack_text(suspect.title), suspect.key) for suspect in pack.suspects)
    return [
        (_("A step"), [(f"step-{key}", title) for title, key in steps]),
        (_("A suspect"), [(f"suspect-{key}", title) for title, key in suspects]),
        (
            _("A fact of the model"),
            [(f"fact-{fact.name}", shown_label(fact)) for fact in facts],
        ),
    ]
