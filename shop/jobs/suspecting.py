"""What to test next: the suspects of a job in the order that finds the cause soonest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.db.models import Count
from django.utils.translation import gettext as _

from checklists.engine import suspects as rules
from checklists.engine.checklist import Checklist
from shop.bench.statistics import suspects as sums
from shop.jobs.models import JobCause
from shop.jobs.record import Record
from shop.jobs.stages import Stage

# A cause that somebody names by hand: as likely as the middle one, a quarter of an hour.
BY_HAND_MINUTES = 15.0


@dataclass(frozen=True, kw_only=True)
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
        confirmed = any(suspect.state == "confirmed" for suspect in self.settled)
        return None if confirmed or not self.open else self.open[0]


def search_of(record: Record, checklist: Checklist) -> Search:
    """Return the suspects of a job, raised by rules and by hand; one query for the shop's past."""
    by_rule = {
        raised.suspect.key: raised for raised in rules.raised(checklist.pack, checklist.facts)
    }
    weights = _weights(by_rule, record.suspects)
    times = confirmed_before(str(record.job.kind), weights, but=record.job.number)
    learnt = sums.learnt(weights, times)
    out = [key for key, state in record.suspects.items() if state == "ruled-out"]
    now = sums.posterior({key: prior.shop for key, prior in learnt.items()}, out)
    views = [
        _view(
            key,
            by_rule.get(key),
            learnt[key],
            chance=now.get(key, 0.0),
            state=record.suspects.get(key, "raised"),
        )
        for key in weights
    ]
    ordered, minutes = _in_order([view for view in views if view.state == "raised"])
    settled = [view for view in views if view.state != "raised"]
    return Search(ordered, settled, minutes, sum(times.values()))


def _weights(by_rule: Mapping[str, rules.RaisedSuspect], named: Iterable[str]) -> dict[str, float]:
    """Return the weights of the pack; what somebody names by hand has the middle one."""
    weights = {key: raised.weight for key, raised in by_rule.items()}
    middle = sorted(weights.values())[len(weights) // 2] if weights else 1.0
    return weights | {name: middle for name in named if name not in weights}


def _in_order(waiting: list[SuspectView]) -> tuple[list[SuspectView], float]:
    """Return the suspects as they are best tested, and the minutes that this is expected to take."""
    by_key = {view.key: view for view in waiting}
    ordered = sums.in_order([sums.Suspect(v.key, v.chance, v.minutes) for v in waiting])
    return [by_key[suspect.key] for suspect in ordered], sums.expected_minutes(ordered)


def _view(
    key: str,
    raised: rules.RaisedSuspect | None,
    learnt: sums.Learnt,
    *,
    chance: float,
    state: str,
) -> SuspectView:
    by_hand = SuspectView(
        key=key,
        title=key,
        chance=chance,
        minutes=BY_HAND_MINUTES,
        test=_("Raised by hand: settle it as you see fit."),
        section="",
        state=state,
        pack_share=learnt.pack,
        times=learnt.times,
        stronger=False,
        source=_("raised by hand"),
    )
    if raised is None:
        return by_hand
    suspect = raised.suspect
    return replace(
        by_hand,
        title=suspect.title,
        minutes=suspect.minutes,
        test=suspect.test,
        section=suspect.section,
        stronger=raised.stronger,
        source=suspect.source,
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
