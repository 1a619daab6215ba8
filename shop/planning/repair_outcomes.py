"""What became of repairs: cured at once, and came back, by kind of unit and by cause."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import BooleanField, Count, ExpressionWrapper, F, Q, QuerySet
from django.utils.translation import gettext as _

from shop.bench.statistics.intermittent import FaultRate, fault_rate
from shop.jobs.models import Job, JobCause, StageVisit
from shop.jobs.stages import Stage
from shop.lib.text import spaced

SPAN = timedelta(days=730)
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
    """Jobs released since a moment that came back, and those or others that were sent back, with their kind."""

    since: datetime
    back: Mapping[int, str]
    kinds: Mapping[int, str]

    @classmethod
    def at(cls, now: datetime) -> Uncured:
        """Read them, as they are at `now` (aware)."""
        since = now - SPAN
        back = came_back(since)
        return cls(since, back, back | _since(_sent_back(), "job", since))


def by_unit_kind(ill: Uncured) -> list[Outcome]:
    """Return the outcomes of each kind of unit, most repairs first."""
    names = {number: [kind] for number, kind in ill.kinds.items()}
    return _outcomes(_released(ill.since).values(name=F("kind")), names, ill, _("kind not noted"))


def by_cause(ill: Uncured) -> list[Outcome]:
    """Return the outcomes of each confirmed cause; a repair with two causes counts for both."""
    names = defaultdict(list)
    either = Q(job__in=_returns().values("returned_from")) | Q(job__in=_sent_back().values("job"))
    causes = JobCause.objects.filter(either)
    for number, suspect in causes.values_list("job_id", "suspect"):
        if number in ill.kinds:
            names[number].append(suspect)
    caused = JobCause.objects.filter(
        job__stage=Stage.RELEASED.value, job__closed_at__gte=ill.since
    ).order_by()
    return _outcomes(caused.values(name=F("suspect")), names, ill, "")


def came_back(since: datetime) -> dict[int, str]:
    """Return the jobs released since then (aware) of which a later one is a return, with their kind.

    From the few that are a return to what they came back from, not the other way round; what
    the first was is looked at here, or a database begins with all that were released.
    """
    return _since(_returns(), "returned_from", since)


def _returns() -> QuerySet[Job]:
    return Job.objects.filter(returned_from__isnull=False).order_by()


def _sent_back() -> QuerySet[StageVisit]:
    """Stays that ended on the bench again instead of in the release."""
    return StageVisit.objects.filter(stage__in=_DONE, to=Stage.OPENED.value).order_by()


def _since(rows: QuerySet[Any], job: str, since: datetime) -> dict[int, str]:
    counts = Q(**{f"{job}__stage": Stage.RELEASED.value, f"{job}__closed_at__gte": since})
    asked = ExpressionWrapper(counts, output_field=BooleanField())
    found = rows.values_list(f"{job}_id", f"{job}__kind", asked)
    return {number: kind for number, kind, counted in found if counted}


def _released(since: datetime) -> QuerySet[Job]:
    return Job.objects.filter(stage=Stage.RELEASED.value, closed_at__gte=since).order_by()


def _outcomes(
    released: QuerySet[Any, Any], names: Mapping[int, list[str]], ill: Uncured, unnamed: str
) -> list[Outcome]:
    """Return outcomes of the names with most repairs; `names` are those of each that was not cured."""
    returned = Counter(name for number, its in names.items() if number in ill.back for name in its)
    uncured = Counter(name for its in names.values() for name in its)
    counted = released.annotate(released=Count("pk")).order_by("-released", "name")[:SHOWN]
    return [
        Outcome(
            spaced(row["name"]) or unnamed,
            row["released"],
            row["released"] - uncured[row["name"]],
            returned[row["name"]],
        )
        for row in counted
    ]
