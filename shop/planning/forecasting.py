"""When open jobs will be finished, from the shop's own closed jobs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from django.core.cache import cache
from django.db.models import Count, DurationField, ExpressionWrapper, F, QuerySet, Sum
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.bench.statistics import forecast
from shop.bench.statistics.flow import FEWEST
from shop.bench.statistics.forecast import Stay
from shop.jobs.models import Job, JobPart, StageVisit
from shop.jobs.stages import Stage
from shop.lib import languages
from shop.lib.clock import open_day_from
from shop.parts.models import Allocation, Order
from shop.planning import finish_words
from shop.preferences import current as preferences

MOST_STAYS = 2000
MOST_PARCELS = 200
_DAY = timedelta(days=1)
_LOAD_DAYS = 90
_CACHE_SECONDS = 300
HANDS_STAGES = (
    Stage.RECEIVED.value,
    Stage.REPRODUCING.value,
    Stage.OPENED.value,
    Stage.REASSEMBLED.value,
)


@dataclass(frozen=True)
class FinishForecast:
    """A forecast in days of the calendar, or the words for why there is none."""

    words: str
    likely: date | None = None
    half: tuple[date, date] | None = None
    most: tuple[date, date] | None = None
    basis: str = ""

    @property
    def sentence(self) -> str:
        """What a customer is told of it, in their language; empty when no date can be told."""
        if self.half is None or self.likely is None:
            return ""
        likely = languages.day_of_year(self.likely)
        if self.half[0] == self.half[1]:
            return _("It will probably be ready about {day}.").format(day=likely)
        first, last = finish_words.ends(*self.half)
        words = _("It will probably be ready between {first} and {last}, most likely {likely}.")
        return words.format(first=first, last=last, likely=likely)


class Forecaster:
    """Answers for many jobs with one look at the history of each stage."""

    def __init__(self, now: datetime, jobs: Sequence[Job]) -> None:
        self.now = now
        on_shelf = [job.number for job in jobs if job.stage == Stage.AWAITING_PARTS]
        self._needs = _required_needs(on_shelf) if on_shelf else {}
        self._orders = _orders_by_need(on_shelf) if on_shelf else {}
        self._history: dict[str, list[tuple[str, Stay, float]]] = {}
        self._parcels: dict[int, list[float]] = {}

    def finish(self, job: Job) -> FinishForecast:
        """Return when a job will probably have left, seen from `now`."""
        if job.closed:
            return FinishForecast(finish_words.left())
        age = max(0.0, (self.now - job.stage_since) / _DAY)
        stays, basis = self._earlier_stays(job)
        draws = self._draws_by_parcels(job)
        if draws is not None:
            basis = finish_words.with_delivery(basis)
        else:
            draws = forecast.remaining(stays, age, seed=job.number)
        if draws is None:
            stays, basis = self._stays_of_all_kinds(job)
            draws = forecast.remaining(stays, age, seed=job.number)
        if draws is None:
            return FinishForecast(self._too_few_words(job, stays, age), basis=basis)
        draws = forecast.under_load(draws, load(self.now), hands_share(self.now))
        return self._finish(forecast.range_of(draws, len(stays)), basis)

    def _finish(self, span: forecast.Range, basis: str) -> FinishForecast:
        half = (self._day(span.half[0]), self._day(span.half[1]))
        most = (self._day(span.most[0]), self._day(span.most[1]))
        likely = min(max(self._day(span.likely), most[0]), most[1])
        words = finish_words.ready(*half, likely)
        return FinishForecast(words, likely, half, most, basis)

    def _day(self, days: float) -> date:
        return open_day_from(timezone.localdate(self.now + days * _DAY))

    def _too_few_words(self, job: Job, stays: list[Stay], age: float) -> str:
        longer = sum(1 for stay in stays if stay.days > age)
        if len(stays) >= FEWEST and longer < FEWEST:
            return finish_words.too_long(str(job.stage), longer)
        return finish_words.too_few(len(stays), FEWEST)

    def _earlier_stays(self, job: Job) -> tuple[list[Stay], str]:
        """Return earlier stays in the job's stage: of its kind when there are enough."""
        every = self._stays_in_stage(str(job.stage))
        same = [stay for kind, stay, _ in every if kind == job.kind and kind]
        if len(same) >= 2 * FEWEST:
            return same, finish_words.of_kind(len(same))
        return self._stays_of_all_kinds(job)

    def _stays_of_all_kinds(self, job: Job) -> tuple[list[Stay], str]:
        every = self._stays_in_stage(str(job.stage))
        return [stay for _, stay, _ in every], finish_words.of_all_kinds(len(every))

    def _stays_in_stage(self, stage: str) -> list[tuple[str, Stay, float]]:
        if stage not in self._history:
            finished = StageVisit.objects.filter(
                stage=stage, left_at__isnull=False, job__closed_at__isnull=False
            )
            columns = ("kind", "entered_at", "left_at", "job__closed_at")
            rows = finished.order_by("-left_at").values_list(*columns)[:MOST_STAYS]
            self._history[stage] = [
                (kind, Stay((left - entered) / _DAY, (end - entered) / _DAY), (end - left) / _DAY)
                for kind, entered, left, end in rows
            ]
        return self._history[stage]

    def _draws_by_parcels(self, job: Job) -> forecast.Draws | None:
        """Return draws by the delivery times of the orders that a job on the shelf waits for."""
        needs = self._needs.get(job.number, [])
        orders_awaited = [self._orders.get((job.number, need)) for need in needs]
        orders = {order.pk: order for order in orders_awaited if order is not None}
        if not needs or None in orders_awaited:
            return None
        rest = [days for _, _, days in self._stays_in_stage(Stage.AWAITING_PARTS.value)]
        draws_by_order = [
            forecast.after_delivery(
                self._deliveries(order.supplier_id),
                max(0.0, (self.now - order.placed_at) / _DAY),
                rest,
                seed=job.number + order.pk,
            )
            for order in orders.values()
        ]
        known = [draws for draws in draws_by_order if draws is not None]
        return np.maximum.reduce(known) if len(known) == len(draws_by_order) else None

    def _deliveries(self, supplier: int) -> list[float]:
        if supplier not in self._parcels:
            parcels = Order.objects.filter(supplier=supplier, first_arrival_at__isnull=False)
            rows = parcels.order_by("-placed_at").values_list("placed_at", "first_arrival_at")
            self._parcels[supplier] = [
                (came - placed) / _DAY for placed, came in rows[:MOST_PARCELS] if came
            ]
        return self._parcels[supplier]


def _required_needs(jobs: Sequence[int]) -> dict[int, list[int]]:
    needs_by_job: dict[int, list[int]] = defaultdict(list)
    outstanding = JobPart.objects.filter(job__in=jobs, outstanding=True, required=True)
    for job, need in outstanding.values_list("job", "need"):
        needs_by_job[job].append(need)
    return needs_by_job


def _orders_by_need(jobs: Sequence[int]) -> dict[tuple[int, int], Order]:
    allocations = Allocation.objects.filter(job__in=jobs, dropped_at=None)
    with_orders = allocations.select_related("line__order")
    return {(allocation.job, allocation.need): allocation.line.order for allocation in with_orders}


def load(now: datetime) -> float:
    """Return units per hands in hands' stages now, against the last 90 days; 1 when unknown."""
    recent = _recent(now)
    usual = recent.hands_days / _LOAD_DAYS / recent.hands
    if recent.hands_days < _LOAD_DAYS / 2:
        return 1.0
    inside = Job.objects.filter(closed_at=None, stage__in=HANDS_STAGES).count()
    return inside / _working_hands() / usual


def _working_hands() -> int:
    """Return how many work at once: no more than there are places at the bench."""
    hands: int = preferences.value("hands")
    return min(hands, preferences.value("bench_places") or hands)


def hands_share(now: datetime) -> float:
    """Return the share of all stays of the last 90 days that were in hands' stages; 0..1."""
    recent = _recent(now)
    return recent.hands_days / recent.days if recent.days else 0.0


@dataclass(frozen=True)
class _Recent:
    """Days of all stays and of those in hands' stages, and how many people had hands on them."""

    days: float
    hands_days: float
    hands: int


def _recent(now: datetime) -> _Recent:
    """Look at the stays that ended in the last 90 days; kept for some minutes."""
    key = f"recent-stays/{now:%Y%m%d%H}"
    cached: _Recent | None = cache.get(key)
    if cached is None:
        since = now - _LOAD_DAYS * _DAY
        ended = StageVisit.objects.filter(left_at__gte=since, left_at__lt=now)
        by_hands = ended.filter(stage__in=HANDS_STAGES)
        people = by_hands.aggregate(n=Count("job__technician", distinct=True))["n"]
        cached = _Recent(_days(ended), _days(by_hands), max(1, people))
        cache.set(key, cached, _CACHE_SECONDS)
    return cached


def _days(stays: QuerySet[StageVisit]) -> float:
    stay = ExpressionWrapper(F("left_at") - F("entered_at"), output_field=DurationField())
    total: timedelta | None = stays.aggregate(total=Sum(stay))["total"]
    return total / _DAY if total else 0.0
