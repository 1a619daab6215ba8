"""What to test next: the suspects of a job in the order that finds the cause soonest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Count

from checklists.engine import suspects as rules
from checklists.engine.checklist import Checklist
from shop.bench.statistics import suspects as sums
from shop.jobs.models import JobCause
from shop.jobs.record import Record
from shop.jobs.stages import Stage

# A cause that somebody names by hand: as likely as the middle one, a quarter of an hour.
BY_HAND_MINUTES = 15.0


@dataclass(frozen=True)
class SuspectView:
    """One suspect with its chance now, where that comes from, and its test."""

    key: str
    title: str
    chance: float
    minutes: float
    test: str
    section: str
    state: str
    pack_share: float
    times: int
    stronger: bool
    source: str


@dataclass(frozen=True)
class Search:
    """The open suspects in order, those settled, and the expected minutes to the cause."""

    open: list[SuspectView]
    settled: list[SuspectView]
    expected_minutes: float
    learnt_from: int

    @property
    def first(self) -> SuspectView | None:
        """What to test next; nothing once a cause is confirmed."""
        confirmed = any(one.state == "confirmed" for one in self.settled)
        return None if confirmed or not self.open else self.open[0]


def search_of(record: Record, checklist: Checklist) -> Search:
    """Return the suspects of a job, raised by rules and by hand; one query for the shop's past."""
    by_rule = {one.suspect.key: one for one in rules.raised(checklist.pack, checklist.facts)}
    states = record.suspects
    weights = {key: one.weight for key, one in by_rule.items()}
    middle = sorted(weights.values())[len(weights) // 2] if weights else 1.0
    weights |= {name: middle for name in states if name not in weights}
    times = confirmed_before(str(record.job.kind), weights, but=record.job.number)
    learnt = sums.learnt(weights, times)
    out = [key for key, state in states.items() if state == "ruled-out"]
    now = sums.posterior({key: one.shop for key, one in learnt.items()}, out)
    views = [
        _view(key, by_rule.get(key), learnt[key], now.get(key, 0.0), states.get(key, "raised"))
        for key in weights
    ]
    waiting = {one.key: one for one in views if one.state == "raised"}
    ordered = sums.in_order([sums.Suspect(v.key, v.chance, v.minutes) for v in waiting.values()])
    return Search(
        [waiting[one.key] for one in ordered],
        [one for one in views if one.state != "raised"],
        sums.expected_minutes(ordered),
        sum(times.values()),
    )


def _view(
    key: str, rule: rules.RaisedSuspect | None, learnt: sums.Learnt, chance: float, state: str
) -> SuspectView:
    if rule is None:
        test = "Raised by hand: settle it as you see fit."
        minutes, title, section, source = BY_HAND_MINUTES, key, "", "raised by hand"
    else:
        one = rule.suspect
        minutes, title, test, section, source = (
            one.minutes, one.title, one.test, one.section, one.source,
        )  # fmt: skip
    stronger = rule is not None and rule.stronger
    return SuspectView(
        key,
        title,
        chance,
        minutes,
        test,
        section,
        state,
        learnt.pack,
        learnt.times,
        stronger,
        source,
    )


def confirmed_before(kind: str, keys: Mapping[str, float], *, but: int) -> dict[str, int]:
    """Return how often released jobs on this kind of unit confirmed each cause; one query."""
    if not keys:
        return {}
    past = JobCause.objects.filter(
        kind=kind, suspect__in=list(keys), job__stage=Stage.RELEASED.value
    ).exclude(job=but)
    counted = past.values("suspect").order_by().annotate(times=Count("pk"))
    return {row["suspect"]: row["times"] for row in counted}
