"""The first draft of an estimate, from what the job needs and what was done on it."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from django.conf import settings

from shop.estimates.models import Estimate, Line
from shop.jobs.events.work_done import WorkDone
from shop.jobs.models import JobPart
from shop.jobs.record import Record
from shop.lib.text import spaced
from shop.parts.models import PriceBreak

HOUR = 60
LEAST_LABOUR = "Finding the fault and repair"
_CENT = Decimal("0.01")


def lines_for(estimate: Estimate, record: Record, last: Estimate | None) -> list[Line]:
    """Return the unsaved lines of a draft: those of the last version, and what has come up since.

    Labour is in hours at the shop's rate; a part is priced at the cheapest offer for its
    quantity plus the shop's mark-up, and at 0 where nobody's price is known.
    """
    kept = [_again(line) for line in last.lines.all()] if last else []
    covered = {line.need for line in kept}, {line.work for line in kept}
    fresh = [_part(need) for need in _needs(record, covered[0])]
    labour = [_labour(*one) for one in _minutes(record).items() if one[0] not in covered[1]]
    if not kept and not labour:
        labour = [_hour()]
    return _placed(estimate, [*labour, *kept, *fresh])


def _again(line: Line) -> Line:
    names = ("sort", "words", "quantity", "price", "tax_rate", "need", "work")
    return Line(**{name: getattr(line, name) for name in names})


def _needs(record: Record, covered: set[int | None]) -> list[JobPart]:
    needed = JobPart.objects.filter(job=record.job, required=True).select_related("part")
    return [need for need in needed if need.need not in covered]


def _part(need: JobPart) -> Line:
    return Line(
        sort=Line.PART,
        words=need.spec,
        quantity=Decimal(need.quantity),
        price=_price(need),
        tax_rate=settings.TAX_RATE,
        need=need.need,
    )


def _price(need: JobPart) -> Decimal:
    if need.part is None:
        return Decimal(0)
    breaks = PriceBreak.objects.filter(offer__part=need.part, quantity__lte=need.quantity)
    cheapest = breaks.order_by("price").first()
    if cheapest is None:
        return Decimal(0)
    marked_up = cheapest.price * (100 + settings.PARTS_MARKUP) / 100
    return marked_up.quantize(_CENT, ROUND_HALF_UP)


def _minutes(record: Record) -> dict[str, Decimal]:
    """Return the minutes on record for each kind of work."""
    spent: dict[str, Decimal] = {}
    for row in record.of_type(WorkDone.event_type):
        work = str(row.data["work"])
        spent[work] = spent.get(work, Decimal(0)) + Decimal(str(row.data.get("minutes") or 0))
    return spent


def _labour(work: str, minutes: Decimal) -> Line:
    hours = (minutes / HOUR).quantize(_CENT, ROUND_HALF_UP)
    return _hour(spaced(work).capitalize(), hours, work)


def _hour(words: str = LEAST_LABOUR, hours: Decimal = Decimal(1), work: str = "") -> Line:
    return Line(
        sort=Line.LABOUR,
        words=words,
        quantity=hours,
        price=settings.HOURLY_RATE,
        tax_rate=settings.TAX_RATE,
        work=work,
    )


def _placed(estimate: Estimate, lines: list[Line]) -> list[Line]:
    for place, line in enumerate(lines):
        line.estimate, line.place = estimate, place
    return lines
