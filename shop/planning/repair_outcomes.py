"""What became of repairs: cured at once, and came back, by kind of unit and by cause."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from django.db.models import BooleanField, Count, ExpressionWrapper, F, Q, QuerySet
from django.utils.translation import gettext as _

from shop.bench.statistics.intermittent import FaultRate, fault_rate
from shop.jobs.models import Job, JobCause, StageVisit
from shop.jobs.stages import Stage
from shop.lib.text import spaced

SPAN = timedelta(days=730)
YEAR = timedelta(days=365)
SHOWN = 20
_DONE = (Stage.REASSEMBLED.value, Stage.SOAKING.value)


@dataclass(frozen=True)
class Outcome:
    """Repairs of one kind or cause. `cured` went to release without going back to the bench and
    did not return; `back` returned. Shares come with their exact 95 % interval.
    """

    name: str
    released: int
    cured: int
    back: int

    @property
    def cured_rate(self) -> FaultRate:
        """The share that was cured at once."""
        return fault_rate(self.cured, self.released)

    @property
    def back_rate(self) -> FaultRate:
        """The share that came back."""
        return fault_rate(self.back, self.released)


@dataclass(frozen=True)
class Uncured:
    """Jobs released since a moment that came back, and those or others that were sent back to the bench.

    `kinds` and `causes` hold the kind and the confirmed causes of all of them.
    """

    since: datetime
    back: frozenset[int]
    back_of_a_year: frozenset[int]
    kinds: Mapping[int, str]
    causes: Mapping[int, set[str]]

    @classmethod
    def at(cls, now: datetime) -> Uncured:
        """Read them, as they are at `now` (aware)."""
        back = _counted(_returns(), "returned_from", now)
        kinds: dict[int, str] = {}
        causes: dict[int, set[str]] = defaultdict(set)
        for one in [*back, *_counted(_sent_back(), "job", now)]:
            kinds[one.number] = one.kind
            if one.cause is not None:
                causes[one.number].add(one.cause)
        returned = frozenset(one.number for one in back)
        of_a_year = frozenset(one.number for one in back if one.of_a_year)
        return cls(now - SPAN, returned, of_a_year, kinds, causes)


def by_unit_kind(ill: Uncured) -> list[Outcome]:
    """Return the outcomes of each kind of unit, most repairs first."""
    names = {number: [kind] for number, kind in ill.kinds.items()}
    by_kind = _released(ill.since).values(name=F("kind")).annotate(released=Count("pk"))
    return _outcomes(by_kind, names, ill, _("kind not noted"))


def by_cause(ill: Uncured) -> list[Outcome]:
    """Return the outcomes of each confirmed cause; a repair with two causes counts for both.

    From the causes to their jobs, not the other way round: that a job counts is looked at last.
    """
    by_name = JobCause.objects.order_by().values(name=F("suspect"))
    counted = by_name.annotate(released=Count("pk", filter=_counts("job", ill.since)))
    return _outcomes(counted.filter(released__gt=0), ill.causes, ill, "")


def released(now: datetime) -> int:
    """Return how many jobs were released in the last year.

    Found by the day alone, of which there is an index; by the stage it would be all that ever were.
    """
    of_a_year = Job.objects.filter(closed_at__gte=now - YEAR)
    return of_a_year.aggregate(n=Count("pk", filter=Q(stage=Stage.RELEASED.value)))["n"]


def _released(since: datetime) -> QuerySet[Job]:
    return Job.objects.filter(stage=Stage.RELEASED.value, closed_at__gte=since).order_by()


def _returns() -> QuerySet[Job]:
    return Job.objects.filter(returned_from__isnull=False).order_by()


def _sent_back() -> QuerySet[StageVisit]:
    """Stays that ended on the bench again instead of in the release."""
    return StageVisit.objects.filter(stage__in=_DONE, to=Stage.OPENED.value).order_by()


def _counts(job: str, since: datetime) -> Q:
    return Q(**{f"{job}__stage": Stage.RELEASED.value, f"{job}__closed_at__gte": since})


class _Ill(NamedTuple):
    """A job that came back or was sent back, with one of its causes."""

    number: int
    kind: str
    cause: str | None
    counts: bool
    of_a_year: bool


def _counted(rows: QuerySet[Any], job: str, now: datetime) -> list[_Ill]:
    """Return the jobs that these rows lead to, if they count, once for each cause.

    From the few that came back or were sent back to their jobs, not the other way round; whether
    they count is looked at here, or a database begins with all that were released.
    """
    asked = [
        ExpressionWrapper(_counts(job, now - span), output_field=BooleanField())
        for span in (SPAN, YEAR)
    ]
    found = rows.values_list(f"{job}_id", f"{job}__kind", f"{job}__causes__suspect", *asked)
    return [one for one in map(_Ill._make, found) if one.counts]


def _outcomes(
    counted: QuerySet[Any, Any], names: Mapping[int, Iterable[str]], ill: Uncured, unnamed: str
) -> list[Outcome]:
    """Return outcomes of the names with most repairs; `names` are those of each that was not cured."""
    returned = Counter(name for number, its in names.items() if number in ill.back for name in its)
    uncured = Counter(name for its in names.values() for name in its)
    return [
        Outcome(
            spaced(row["name"]) or unnamed,
            row["released"],
            row["released"] - uncured[row["name"]],
            returned[row["name"]],
        )
        for row in counted.order_by("-released", "name")[:SHOWN]
    ]
