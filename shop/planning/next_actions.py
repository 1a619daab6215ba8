"""What hands can do now, in order, each with the reason for its place.

What takes a few minutes stands in a list of its own: an answer that frees a unit is never
hidden behind an afternoon's work.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import Count, F, Min, OuterRef, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from checklists.engine.figures import grouped
from shop.jobs import names, queries
from shop.jobs.models import Job, JobPart
from shop.jobs.stages import Stage, Waiting
from shop.lib import languages
from shop.lib.phrases import span
from shop.lib.prepared import Prepared, PreparedRows
from shop.lib.web.navigation import address
from shop.parts import orders, stock
from shop.parts.models import Order
from shop.planning.wording import days_late

SHOWN = 40
FEW_MINUTES = 5

# What a visit to a unit takes about, by stage: common practice, only for the order of the list.
_MINUTES = {
    Stage.RECEIVED: 15,
    Stage.REPRODUCING: 30,
    Stage.OPENED: 60,
    Stage.AWAITING_PARTS: 45,
    Stage.REASSEMBLED: 30,
    Stage.SOAKING: 15,
}


@dataclass(frozen=True)
class Slip:
    """An action as a page writes it, in plain values; `number` and what follows are of its job."""

    what: str
    where: str
    minutes: int
    why: tuple[str, ...]
    number: int | None = None
    unit: str = ""
    stage: str = ""
    came_back: bool = False


@dataclass(frozen=True)
class Action:
    """One thing to do, about how long it takes, and why it stands where it stands."""

    what: str
    where: str
    minutes: int
    why: list[str]
    frees: int = 0
    promised_on: date | None = None
    since: datetime | None = None
    job: Job | None = None

    @property
    def job_number(self) -> int | None:
        """The job's number, if it is about one."""
        return self.job.number if self.job else None

    @property
    def slip(self) -> Slip:
        """What a page writes of it."""
        what = (self.what, self.where, self.minutes, tuple(self.why))
        if (job := self.job) is None:
            return Slip(*what)
        back = job.returned_from_id is not None
        return Slip(*what, job.number, job.unit.name, job.stage, back)

    def urgency(self, now: datetime) -> tuple[bool, float, float]:
        """Sort key: promises that are near first, then what frees and has aged most per minute."""
        today = timezone.localdate(now)
        left = (self.promised_on - today).days if self.promised_on else 10_000
        age = (now - self.since).total_seconds() / 86_400 if self.since else 0.0
        return (left > 2, left if left <= 2 else 0.0, -(self.frees * 3 + age) / self.minutes)


@dataclass
class NextActions:
    """The two lists."""

    quick: list[Action] = field(default_factory=list)
    bench: list[Action] = field(default_factory=list)


def next_actions(now: datetime) -> NextActions:
    """Return what can be done at `now` (aware); a handful of queries however many jobs there are."""
    actions = [*_of_jobs(now), *_answers(now), *_orders(now), *_from_stock(), *_late_parcels(now)]
    ranked = sorted(actions, key=lambda action: action.urgency(now))
    return NextActions(
        quick=[action for action in ranked if action.minutes <= FEW_MINUTES][:SHOWN],
        bench=[action for action in ranked if action.minutes > FEW_MINUTES][:SHOWN],
    )


def _for_hands(now: datetime) -> QuerySet[Job]:
    open_jobs = queries.jobs(now).filter(
        closed_at=None, waiting_on=Waiting.HANDS, customer_asked=False
    )
    return open_jobs.order_by(F("promised_on").asc(nulls_last=True), "due_at")[: 2 * SHOWN]


def _asking(now: datetime) -> QuerySet[Job]:
    asking = queries.jobs(now).filter(closed_at=None, customer_asked=True)
    return asking.order_by("waiting_since")[:SHOWN]


_FOR_HANDS = Prepared(_for_hands, datetime, **queries.WITH_UNIT)
_ASKING = Prepared(_asking, datetime, **queries.WITH_UNIT)


def _of_jobs(now: datetime) -> Iterable[Action]:
    for job in _FOR_HANDS(now):
        yield _of_job(job, now)


def _of_job(job: Job, now: datetime) -> Action:
    where = address("job", job.number)
    if job.unplug_due:
        why = [_("a permit fell under mains")]
        return Action(_("Pull the plug and confirm it"), where, 1, why, 9, job=job)
    if job.stage == Stage.AWAITING_PARTS and job.ready_since:
        what = _("Back on the bench: its parts are here")
        frees, minutes = 1, 5
    else:
        what = names.translated(job.next_title) or _("Look at its list")
        frees, minutes = 0, _MINUTES[Stage(job.stage)] if job.next_title else 2
    why = [*_promise(job.promised_on, now), *_age(job, now)]
    since = job.ready_since or job.stage_since
    return Action(what, where, minutes, why, frees, job.promised_on, since, job)


def _promise(day: date | None, now: datetime) -> list[str]:
    if day is None:
        return []
    today = timezone.localdate(now)
    left = (day - today).days
    said = languages.day_of_year(day)
    if left < 0:
        late = _("promised for {day}, {days_late}")
        return [late.format(day=said, days_late=days_late(day, today))]
    if left == 0:
        return [_("promised for {day}, today").format(day=said)]
    ahead = ngettext(
        "promised for {day}, in {days} day", "promised for {day}, in {days} days", left
    )
    return [ahead.format(day=said, days=grouped(left))]


def _age(job: Job, now: datetime) -> list[str]:
    if job.ready_since:
        return [_("parts came {time} ago").format(time=span(job.ready_since, now))]
    reasons = [_("{time} in this stage").format(time=span(job.stage_since, now))]
    if getattr(job, "waiting", "") == "nobody":
        reasons.append(
            _("it has stalled: nobody has touched it for longer than usual in this stage")
        )
    return reasons


def _answers(now: datetime) -> Iterable[Action]:
    for job in _ASKING(now):
        asked = span(job.waiting_since or job.stage_since, now)
        why = [_("the customer asked {time} ago").format(time=asked)]
        where = address("job", job.number)
        yield Action(
            _("Answer the customer"), where, 2, why, 1, job.promised_on, job.waiting_since, job
        )


def _unordered() -> QuerySet[JobPart, Any]:
    """One row with how many parts nobody has ordered, of how many jobs, since when; no row for none."""
    unordered = JobPart.objects.filter(outstanding=True, ordered=False, required=True)
    return (
        unordered.order_by()
        .values("required")
        .annotate(parts=Count("pk"), jobs=Count("job", distinct=True), oldest=Min("needed_at"))
    )


_UNORDERED = PreparedRows(_unordered, columns=["parts", "jobs", "oldest"])


def _orders(now: datetime) -> Iterable[Action]:
    for parts, jobs, oldest in _UNORDERED():
        yield _order(parts, jobs, oldest, now)


def _order(parts: int, jobs: int, oldest: datetime, now: datetime) -> Action:
    what = ngettext("Order {parts} part", "Order {parts} parts", parts)
    why = ngettext(
        "{jobs} job waits for what nobody has ordered, the first for {time}",
        "{jobs} jobs wait for what nobody has ordered, the first for {time}",
        jobs,
    ).format(jobs=grouped(jobs), time=span(oldest, now))
    where = address("order")
    return Action(what.format(parts=grouped(parts)), where, 10, [why], jobs, since=oldest)


def _in_bins() -> QuerySet[JobPart]:
    """Needs of which some pieces lie in the bins, each with how many are `free`."""
    open_needs = JobPart.objects.filter(outstanding=True, part__isnull=False, ordered=False)
    in_bins = open_needs.annotate(free=stock.free_of(OuterRef("part"))).filter(free__gt=0)
    return in_bins.select_related("job__unit")[:SHOWN]


_IN_BINS = Prepared(_in_bins, related=("job", "job__unit"), annotated=("free",))


def _from_stock() -> Iterable[Action]:
    """Needs that what lies in the bins would serve."""
    for need in _IN_BINS():
        pieces = need.free  # type: ignore[attr-defined]
        if pieces >= need.missing:
            where = address("job", need.job_id) + "#parts"
            why = [_("{pieces} in stock").format(pieces=pieces)]
            yield Action(
                _("Take from stock: {part}").format(part=need.spec),
                where,
                2,
                why,
                1,
                since=need.needed_at,
                job=need.job,
            )


def _overdue(today: date) -> QuerySet[Order]:
    """Orders that should have come, each with how many `jobs` wait on it."""
    waiting = Count(
        "lines__allocations__job", filter=Q(lines__allocations__dropped_at=None), distinct=True
    )
    late = Order.objects.filter(orders.overdue(today)).annotate(jobs=waiting)
    return late.order_by("expected_on")[:SHOWN]


_OVERDUE = PreparedRows(
    _overdue, date, columns=["id", "supplier__name", "expected_on", "placed_at", "jobs"]
)


def _late_parcels(now: datetime) -> Iterable[Action]:
    today = timezone.localdate(now)
    for number, supplier, expected_on, placed_at, jobs in _OVERDUE(today):
        waiting_on_it = ngettext("{jobs} job waits on it", "{jobs} jobs wait on it", jobs)
        waits = waiting_on_it.format(jobs=grouped(jobs))
        why = [f"{days_late(expected_on, today)}; {waits}"]
        what = _("Ask {supplier} where order {number} is")
        what = what.format(supplier=supplier, number=number)
        where = address("parcel", number)
        yield Action(what, where, 5, why, jobs, since=placed_at)
