"""The first draft of a bill: the agreement as it was said yes to, else what was done and fitted."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from shop.bills.models import BillLine
from shop.customers.languages import in_language_of_job
from shop.customers.models import Intake
from shop.estimates import services as estimate_services
from shop.estimates.drafting import hours_of, minutes_by_work, price_of
from shop.estimates.models import Estimate
from shop.jobs.events.shipped import Shipped
from shop.jobs.models import JobPart
from shop.jobs.record import Record
from shop.jobs.stages import Stage
from shop.lib.money import formatted, rounded
from shop.lib.text import spaced
from shop.preferences import current as preferences


@dataclass
class Drafted:
    """Lines without a bill yet, and why their sum is another than the one agreed to."""

    lines: list[BillLine] = field(default_factory=list)
    differs_because: list[str] = field(default_factory=list)


def agreed_estimate(record: Record) -> Estimate | None:
    """Return the newest version that the customer said yes to."""
    sent = estimate_services.sent_estimates(record)
    return next((version.estimate for version in sent if version.answer == "yes"), None)


def draft_of(record: Record) -> Drafted:
    """Return what a bill starts from.

    Released: the agreed lines, without parts that were not fitted; without an agreement the work
    by its minutes and the parts that were fitted. Withdrawn, or with nothing to show: the inspection fee.
    Its words are in the customer's language, and stay as they are typed over or issued.
    """
    with in_language_of_job(record.job):
        return _draft_of(record)


def _draft_of(record: Record) -> Drafted:
    agreed = agreed_estimate(record)
    drafted = Drafted()
    if record.job.stage == Stage.WITHDRAWN:
        _withdrawn(drafted, record, agreed)
    elif agreed is not None:
        _agreed(drafted, record, agreed)
    else:
        drafted.lines = [*_work_lines(record), *_fitted_lines(record)] or _inspection()
    _add_freight(drafted, record, agreed)
    for place, line in enumerate(drafted.lines):
        line.place = place
    return drafted


def _withdrawn(drafted: Drafted, record: Record, agreed: Estimate | None) -> None:
    drafted.lines = [*_inspection(), *_fitted_lines(record)]
    if agreed is not None:
        drafted.differs_because.append(_("The repair was not finished."))


def _agreed(drafted: Drafted, record: Record, agreed: Estimate) -> None:
    fitted = set(_fitted(record).values_list("need", flat=True))
    for line in agreed.lines.all():
        if line.need is None or line.need in fitted:
            drafted.lines.append(_from_estimate(line))
        else:
            drafted.differs_because.append(_("Not fitted: {part}.").format(part=line.words))


def _from_estimate(line: object) -> BillLine:
    names = ("sort", "words", "quantity", "price", "tax_rate", "need", "work")
    return BillLine(**{name: getattr(line, name) for name in names})


def _work_lines(record: Record) -> list[BillLine]:
    return [
        _line(
            BillLine.LABOUR,
            spaced(work).capitalize(),
            preferences.value("hourly_rate"),
            quantity=hours_of(minutes),
            work=work,
        )
        for work, minutes in minutes_by_work(record).items()
        if minutes
    ]


def _fitted(record: Record) -> QuerySet[JobPart]:
    return JobPart.objects.filter(job=record.job, fitted=True)


def _fitted_lines(record: Record) -> list[BillLine]:
    return [
        _line(
            BillLine.PART,
            need.spec,
            price_of(need),
            quantity=Decimal(need.quantity),
            need=need.need,
        )
        for need in _fitted(record).select_related("part")
    ]


def _inspection() -> list[BillLine]:
    fee = preferences.value("inspection_fee")
    return [_line(BillLine.INSPECTION, _("Inspection"), fee)] if fee else []


def _add_freight(drafted: Drafted, record: Record, agreed: Estimate | None) -> None:
    """Add the way back of a unit that came or left by parcel."""
    freight = preferences.value("return_freight")
    by_parcel = Intake.objects.filter(job=record.job, came_by=Intake.PARCEL).exists()
    if not freight or not (by_parcel or record.of_type(Shipped.event_type)):
        return
    words = _("Sending it back")
    drafted.lines.append(_line(BillLine.FREIGHT, words, freight))
    if agreed is not None:
        currency = preferences.value("currency")
        amount = formatted(rounded(freight, currency), currency)
        because = _("Sending it back costs {amount} without tax.")
        drafted.differs_because.append(because.format(amount=amount))


def _line(sort: str, words: str, price: Decimal, **more: object) -> BillLine:
    rate = preferences.value("tax_rate")
    return BillLine(sort=sort, words=words, price=price, tax_rate=rate, **more)
