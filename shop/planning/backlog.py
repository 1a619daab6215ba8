"""The backlog: jobs that wait, open orders with the jobs they free, needs that one supplier could send together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Prefetch
from django.utils import timezone
from django.utils.translation import ngettext

from shop.jobs import queries
from shop.jobs.models import Job, JobPart
from shop.jobs.stages import Waiting
from shop.parts.models import Allocation, Order, OrderLine
from shop.planning.forecasting import FinishForecast, Forecaster

SHOWN = 60
LONGEST_BAR_DAYS = 28


@dataclass(frozen=True)
class WaitingJob:
    """One job's wait."""

    job: Job
    since: datetime
    days: float
    until: date | None
    late_days: int
    parts: str
    finish: FinishForecast

    @property
    def bar(self) -> float:
        """Length of the bar in percent."""
        return min(100.0, 100 * self.days / LONGEST_BAR_DAYS)


@dataclass(frozen=True)
class Parcel:
    """One open order with the jobs it is for."""

    order: Order
    lines: list[OrderLine]
    late_days: int
    frees: list[Job]
    helps: list[Job]

    @property
    def to_come(self) -> int:
        """Pieces that nobody has seen yet."""
        return sum(line.to_come for line in self.lines)


@dataclass(frozen=True)
class SupplierGroup:
    """Open needs that one supplier could send in one parcel."""

    supplier: str
    needs: list[JobPart]


def waiting_jobs(now: datetime) -> list[WaitingJob]:
    """Return the jobs that wait on somebody else than hands, the latest and longest first."""
    open_jobs = queries.jobs(now).filter(closed_at=None).exclude(waiting_on=Waiting.HANDS)
    jobs = list(open_jobs.order_by("waiting_since")[:SHOWN])
    parts, due = _parts_of(jobs), _due_of(jobs)
    forecaster = Forecaster(now, jobs)
    waiting = [
        _waiting_job(job, now, parts[job.number], due.get(job.number), forecaster) for job in jobs
    ]
    return sorted(waiting, key=lambda wait: (-wait.late_days, -wait.days))


def _waiting_job(
    job: Job, now: datetime, parts: list[JobPart], due: date | None, forecaster: Forecaster
) -> WaitingJob:
    today = timezone.localdate(now)
    until = due if job.waiting_on == "parts" else job.promised_on
    since = job.waiting_since or job.stage_since
    arrived = sum(1 for part in parts if not part.outstanding)
    parts_words = _parts_here(arrived, len(parts)) if parts else ""
    late_days = max(0, (today - until).days) if until else 0
    days = (now - since).total_seconds() / 86_400
    return WaitingJob(job, since, days, until, late_days, parts_words, forecaster.finish(job))


def _parts_here(arrived: int, needed: int) -> str:
    words = ngettext("{arrived} of {needed} parts here", "{arrived} of {needed} parts here", needed)
    return words.format(arrived=arrived, needed=needed)


def _parts_of(jobs: Sequence[Job]) -> dict[int, list[JobPart]]:
    parts_by_job: dict[int, list[JobPart]] = defaultdict(list)
    for part in JobPart.objects.filter(job__in=jobs, required=True):
        parts_by_job[part.job_id].append(part)
    return parts_by_job


def _due_of(jobs: Sequence[Job]) -> dict[int, date]:
    """Return when the last part on order is expected, by job."""
    numbers = [job.number for job in jobs]
    allocations = Allocation.objects.filter(
        job__in=numbers, dropped_at=None, line__order__closed_at=None
    )
    due_by_job: dict[int, date] = {}
    for job, expected in allocations.values_list("job", "line__order__expected_on"):
        due_by_job[job] = max(expected, due_by_job.get(job, expected))
    return due_by_job


def open_parcels(now: datetime) -> list[Parcel]:
    """Return the open orders, late ones first, each with the jobs that it frees or helps."""
    today = timezone.localdate(now)
    lines = OrderLine.objects.select_related("part").prefetch_related(
        Prefetch("allocations", Allocation.objects.filter(dropped_at=None))
    )
    orders = list(
        Order.objects.filter(closed_at=None)
        .select_related("supplier")
        .prefetch_related(Prefetch("lines", lines))
        .order_by("expected_on")[:SHOWN]
    )
    missing = _missing_required(orders)
    return [_parcel(order, today, missing) for order in orders]


def _parcel(order: Order, today: date, missing: dict[int, tuple[Job, set[int]]]) -> Parcel:
    lines = list(order.lines.all())
    brings: dict[int, set[int]] = defaultdict(set)
    for line in lines:
        for allocation in line.allocations.all():
            if allocation.to_come:
                brings[allocation.job].add(allocation.need)
    frees = [missing[job][0] for job, needs in brings.items() if missing[job][1] <= needs]
    helps = [missing[job][0] for job, needs in brings.items() if not missing[job][1] <= needs]
    return Parcel(order, lines, max(0, (today - order.expected_on).days), frees, helps)


def _missing_required(orders: Sequence[Order]) -> dict[int, tuple[Job, set[int]]]:
    """Return each job that a parcel is for, with the required needs it still misses."""
    numbers = {
        allocation.job
        for order in orders
        for line in order.lines.all()
        for allocation in line.allocations.all()
    }
    jobs = Job.objects.filter(pk__in=numbers).select_related("unit")
    missing: dict[int, tuple[Job, set[int]]] = {job.number: (job, set()) for job in jobs}
    for part in JobPart.objects.filter(job__in=numbers, outstanding=True, required=True):
        missing[part.job_id][1].add(part.need)
    return missing


def supplier_groups(needs: Sequence[JobPart]) -> list[SupplierGroup]:
    """Return, per supplier who sells two or more of the needs, which those are; most first."""
    by_supplier: dict[str, list[JobPart]] = defaultdict(list)
    for need in needs:
        if need.part is not None:
            for offer in need.part.offers.all():
                by_supplier[offer.supplier.name].append(need)
    groups = [
        SupplierGroup(name, needs_of_supplier)
        for name, needs_of_supplier in by_supplier.items()
        if len(needs_of_supplier) > 1
    ]
    return sorted(groups, key=lambda group: (-len(group.needs), group.supplier))
