"""What the commercial documents say: estimate, packing list; no layout."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from shop.customers.models import Intake
from shop.documents.common import UNREPAIRED, caution, common_fields, way_of
from shop.estimates import services as estimate_services
from shop.estimates.models import EstimateLine
from shop.estimates.pricing import Tax
from shop.estimates.services import SentEstimate
from shop.jobs.events.shipped import Shipped
from shop.jobs.queries import Traveller
from shop.lib.languages import day
from shop.lib.refusals import refuse
from shop.lib.text import spaced
from shop.lib.web.templatetags.formatting import brief, brief_price, price
from shop.preferences import current as preferences

ROUNDING = gettext_lazy(
    "Each line is rounded half up to the smallest coin. Tax is reckoned once for each rate, on the "
    "sum of its lines, and rounded the same way."
)

_ANSWERS = {
    "yes": pgettext_lazy("answer to an estimate", "Agreed"),
    "no": pgettext_lazy("answer to an estimate", "Declined"),
    "question": gettext_lazy("A question was asked"),
}
_SHIPMENT = ("carrier", "tracking", "note")


def estimate_document(traveller: Traveller) -> dict[str, Any]:
    """Return the estimate sent last; Refused when none was sent."""
    sent = estimate_services.sent_estimates(traveller.record)
    if not sent:
        reason = _("No estimate of job {number} was sent; its paper follows the sending.").format(
            number=traveller.job.number
        )
        raise refuse("no-estimate", reason)
    title = _("Estimate, version {version}").format(version=sent[0].estimate.version)
    return common_fields(traveller, title) | _estimate_content(sent[0])


def _estimate_content(sent: SentEstimate) -> dict[str, Any]:
    estimate = sent.estimate
    totals = estimate.totals()
    taxes = [
        [
            tax_words(estimate.tax_name, tax, estimate.currency),
            price(tax.amount, estimate.currency),
        ]
        for tax in totals.taxes
        if tax.rate
    ]
    total = price(totals.gross, estimate.currency)
    return {
        "words": estimate.words,
        "lines": [_line_cells(line) for line in estimate.lines.all()],
        "sums": [[_("Without tax"), price(totals.net, estimate.currency)], *taxes],
        "total": total,
        "answer": _answer(sent),
        "answer_to": _("Your answer to {shop}").format(shop=preferences.on_one_line("shop_name")),
        "yes": _("Yes, do it for {total}.").format(total=total),
        # An answer can be written on the paper while there is none.
        "asks": sent.answer in ("sent", "question"),
        "notes": [str(ROUNDING), *preferences.value("terms").splitlines()],
    }


def tax_words(name: str, tax: Tax, currency: str) -> str:
    """Return 'VAT 19 % on 160.00 EUR'."""
    said = _("{tax} {rate} % on {base}")
    return said.format(tax=name, rate=brief(tax.rate), base=price(tax.base, currency))


def _line_cells(line: EstimateLine) -> list[str]:
    return [
        line.words,
        f"{brief(line.quantity)}{' h' if line.sort == EstimateLine.LABOUR else ''}",
        brief_price(line.price, line.estimate.currency),
        f"{brief(line.tax_rate)} %",
        price(line.priced.net, line.estimate.currency),
    ]


def _answer(sent_estimate: SentEstimate) -> str:
    sent_at = sent_estimate.estimate.sent_at
    sent_words = _("Sent on {day}.").format(day=day(sent_at)) if sent_at else ""
    if sent_estimate.row is None:
        return sent_words
    way = way_of(sent_estimate.row.data.get("way"))
    said = _("{answer}, {way}, {day}.") if way else _("{answer}, {day}.")
    answer = _ANSWERS.get(sent_estimate.answer, spaced(sent_estimate.answer))
    return f"{sent_words} {said.format(answer=answer, way=way, day=day(sent_estimate.row.at))}"


def packing_list(traveller: Traveller) -> dict[str, Any]:
    """Return what goes into the parcel; Refused while the unit is on the bench."""
    if not traveller.job.closed:
        reason = _("Job {number} is on the bench; its packing list follows when it leaves.").format(
            number=traveller.job.number
        )
        raise refuse("not-closed", reason)
    intake = Intake.objects.select_related("customer").filter(job=traveller.job).first()
    shipments = traveller.record.of_type(Shipped.event_type)
    things = [str(traveller.job.unit), *(intake.things if intake else [])]
    released = traveller.job.stage == "released"
    papers = [_("release record") if released else _("hand-back note")]
    return common_fields(traveller, _("Packing list")) | {
        "things": [*things, *papers, _("parts taken out, if the customer wants them")],
        "warning": [] if released else caution(UNREPAIRED),
        "carried": [
            str(shipments[-1].data[name])
            for name in _SHIPMENT
            if shipments and shipments[-1].data.get(name)
        ],
    }
