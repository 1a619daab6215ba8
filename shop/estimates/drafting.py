"""The first draft of an estimate, from what the job needs and what was done on it."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from django.utils.translation import gettext as _

from shop.customers.languages import in_language_of_job
from shop.estimates.models import Estimate, EstimateLine
from shop.jobs.events.work_done import WorkDone
from shop.jobs.models import JobPart
from shop.jobs.record import Record
from shop.lib.text import spaced
from shop.parts.models import OrderLine, PriceBreak
from shop.preferences import current as preferences

HOUR = 60
_CENT = Decimal("0.01")


def lines_for(estimate: Estimate, record: Record, last: Estimate | None) -> list[EstimateLine]:
    """Return the unsaved lines of a draft: those of the last version, and what has come up since.

    Labour is in hours at the shop's rate; a part is priced at the cheapest offer for its
    quantity plus the shop's mark-up, else as it was bought last, and at 0 where no price is known.
    """
    carried_over = [_copied(line) for line in last.lines.all()] if last else []
    covered_needs = {line.need for line in carried_over}
    covered_work = {line.work for line in carried_over}
    parts = [_part_line(need) for need in _uncovered_uncovered_needs(record, covered_needs)]
    labour = [
        _work_line(work, minutes)
        for work, minutes in minutes_by_work(record).items()
        if work not in covered_work
    ]
    if not carried_over and not labour:
        labour = [_least_labour(record)]
    return _numbered(estimate, [*labour, *carried_over, *parts])


def _copied(line: EstimateLine) -> EstimateLine:
    names = ("sort", "words", "quantity", "price", "tax_rate", "need", "work")
    return EstimateLine(**{name: getattr(line, name) for name in names})


def _uncovered_uncovered_needs(record: Record, covered: set[int | None]) -> list[JobPart]:
    needed = JobPart.objects.filter(job=record.job, required=True).select_related("part")
    return [need for need in needed if need.need not in covered]


def _part_line(need: JobPart) -> EstimateLine:
    return EstimateLine(
        sort=EstimateLine.PART,
        words=need.spec,
        quantity=Decimal(need.quantity),
        price=price_of(need),
        tax_rate=preferences.value("tax_rate"),
        need=need.need,
    )


def price_of(need: JobPart) -> Decimal:
    """Return the price of one piece: the cheapest offer, else the last order, with the mark-up."""
    if need.part is None:
        return Decimal(0)
    breaks = PriceBreak.objects.filter(offer__part=need.part, quantity__lte=need.quantity)
    cheapest = breaks.order_by("price").values_list("price", flat=True).first()
    price = _last_paid(need) if cheapest is None else cheapest
    marked_up = price * (100 + preferences.value("parts_markup")) / 100
    return marked_up.quantize(_CENT, ROUND_HALF_UP)


def _last_paid(need: JobPart) -> Decimal:
    """Return the price of the newest order of the part; 0 where it never had one."""
    lines = OrderLine.objects.filter(part=need.part, price__gt=0).order_by("-pk")
    return lines.values_list("price", flat=True).first() or Decimal(0)


def minutes_by_work(record: Record) -> dict[str, Decimal]:
    """Return the minutes on record for each kind of work."""
    minutes: dict[str, Decimal] = {}
    for row in record.of_type(WorkDone.event_type):
        work = str(row.data["work"])
        minutes[work] = minutes.get(work, Decimal(0)) + Decimal(str(row.data.get("minutes") or 0))
    return minutes


def _work_line(work: str, minutes: Decimal) -> EstimateLine:
    return _labour_line(spaced(work).capitalize(), hours_of(minutes), work)


def hours_of(minutes: Decimal) -> Decimal:
    """Return minutes as hours, half up to a hundredth."""
    return (minutes / HOUR).quantize(_CENT, ROUND_HALF_UP)


def _least_labour(record: Record) -> EstimateLine:
    with in_language_of_job(record.job):
        return _labour_line(_("Finding the fault and repair"), Decimal(1))


def _labour_line(words: str, hours: Decimal, work: str = "") -> EstimateLine:
    return EstimateLine(
        sort=EstimateLine.LABOUR,
        words=words,
        quantity=hours,
        price=preferences.value("hourly_rate"),
        tax_rate=preferences.value("tax_rate"),
        work=work,
    )


def _numbered(estimate: Estimate, lines: list[EstimateLine]) -> list[EstimateLine]:
    for place, line in enumerate(lines):
        line.estimate, line.place = estimate, place
    return lines
