"""Look for jobs by words, slips forgiven; and for earlier jobs like one that is open."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, field

from django.core.cache import cache
from django.db.models import Q, QuerySet
from django.db.models.functions import Length
from rapidfuzz import fuzz, process

from shop.jobs.models import Job, JobCause, JobPart
from shop.lib.text import spaced
from shop.lib.tokens import phrases_of, words_of
from shop.search import backends, indexing
from shop.search.models import IndexedWord

MOST = 50
MOST_PHRASES = 12
MOST_GUESSES = 4
# How alike a word must be to be taken for a slip of another, of 100: one wrong letter of five.
ALIKE = 79
SHORTEST_SLIP = 4
_CACHE_SECONDS = 60


@dataclass(frozen=True)
class SearchResult:
    """What was found, best first; `corrections` says which words were taken for which others."""

    jobs: list[Job]
    corrections: dict[str, list[str]] = field(default_factory=dict)


def search_jobs(query: str, limit: int = MOST) -> SearchResult:
    """Return the jobs that have all words of a query; each may be the beginning of a word.

    A word that stands nowhere is looked for as the words it may be a slip of.
    """
    phrases = phrases_of(query)[:MOST_PHRASES]
    unread = indexing.unread_words()
    groups, corrections = _groups(phrases, {word for entry in unread for word in entry.words})
    return SearchResult(_jobs(_found(groups, limit, unread)), corrections)


def _found(
    groups: Sequence[backends.Group],
    limit: int,
    unread: Sequence[backends.JobWords],
    *,
    any_group: bool = False,
) -> list[int]:
    """Return numbers of jobs: first what the index has not read yet, then what it finds."""
    if not groups:
        return []
    matching = [entry for entry in unread if entry.matches(groups, any_group=any_group)]
    matching.sort(key=lambda entry: entry.weight(groups), reverse=True)
    fresh = [entry.job for entry in matching]
    # What was written since may no longer match what the index knew of it.
    old = {entry.job for entry in unread}
    known = backends.find_jobs(groups, limit, any_group=any_group)
    return [*fresh, *(number for number in known if number not in old)][:limit]


def _groups(
    phrases: Sequence[list[str]], unread: Set[str]
) -> tuple[list[backends.Group], dict[str, list[str]]]:
    groups: list[backends.Group] = []
    corrections: dict[str, list[str]] = {}
    for phrase in phrases:
        guesses = _spelling_guesses(phrase[0], unread) if len(phrase) == 1 else []
        if guesses:
            corrections[phrase[0]] = guesses
        groups.append([phrase, *([guess] for guess in guesses)])
    return groups, corrections


def _spelling_guesses(word: str, unread: Set[str]) -> list[str]:
    """Return the words that this one may be a slip of; none for a word that stands somewhere."""
    if len(word) < SHORTEST_SLIP or any(known.startswith(word) for known in unread):
        return []
    if IndexedWord.objects.filter(word__startswith=word).exists():
        return []
    candidates = [
        *_indexed_words(),
        *(known for known in unread if len(known) >= SHORTEST_SLIP - 1),
    ]
    matches = process.extract(
        word,
        list(dict.fromkeys(candidates)),
        scorer=fuzz.ratio,
        score_cutoff=ALIKE,
        limit=MOST_GUESSES,
    )
    return [guess for guess, _, _ in matches]


def _indexed_words() -> list[str]:
    """Return every word, as it was a minute ago."""
    cached: list[str] | None = cache.get("search/words")
    if cached is None:
        long_enough = IndexedWord.objects.alias(letters=Length("word")).filter(
            letters__gte=SHORTEST_SLIP - 1
        )
        cached = list(long_enough.values_list("word", flat=True))
        cache.set("search/words", cached, _CACHE_SECONDS)
    return cached


def _jobs(numbers: Sequence[int]) -> list[Job]:
    job_by_number = Job.objects.select_related("unit").in_bulk(numbers)
    return [job_by_number[number] for number in numbers if number in job_by_number]


@dataclass(frozen=True)
class SimilarJob:
    """An earlier job like this one, and what cured it."""

    job: Job
    why: str
    causes: list[str]
    parts: list[str]


def similar_jobs(job: Job, symptoms: Sequence[str], limit: int = 12) -> list[SimilarJob]:
    """Return closed jobs of the same model first, then of the same kind, like this complaint.

    Of the same model all are like; of the same kind those that share words with the complaint.
    """
    words = [word for word in words_of(job.complaint) if len(word) >= SHORTEST_SLIP]
    groups = [[[word]] for word in dict.fromkeys([*words, *words_of(" ".join(symptoms))])]
    ranked = _found(groups[: 2 * MOST_PHRASES], 400, indexing.unread_words(), any_group=True)
    rank_by_job = {number: rank for rank, number in enumerate(ranked)}
    same_model = _closed_jobs(job).filter(unit__make=job.unit.make, unit__model=job.unit.model)
    of_model = list(same_model[:50]) if job.unit.model else []
    of_kind = list(_closed_jobs(job).filter(kind=job.kind, pk__in=ranked)) if job.kind else []
    of_model.sort(key=lambda other: rank_by_job.get(other.pk, len(rank_by_job)))
    of_kind.sort(key=lambda other: rank_by_job[other.pk])
    chosen = dict.fromkeys(of_model, "the same model") | {
        other: "the same kind, and words of the complaint"
        for other in of_kind
        if other not in of_model
    }
    return _with_cures(dict(list(chosen.items())[:limit]))


def _closed_jobs(job: Job) -> QuerySet[Job]:
    others = Job.objects.filter(Q(closed_at__isnull=False)).exclude(pk=job.pk)
    return others.select_related("unit").order_by("-pk")


def _with_cures(chosen: dict[Job, str]) -> list[SimilarJob]:
    causes: dict[int, list[str]] = {}
    for cause in JobCause.objects.filter(job__in=chosen):
        causes.setdefault(cause.job_id, []).append(spaced(cause.suspect))
    parts: dict[int, list[str]] = {}
    for part in JobPart.objects.filter(job__in=chosen, fitted=True):
        parts.setdefault(part.job_id, []).append(part.spec)
    return [
        SimilarJob(job, why, causes.get(job.pk, []), parts.get(job.pk, []))
        for job, why in chosen.items()
    ]
