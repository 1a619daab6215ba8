"""What the commercial documents say: estimate, packing list; no layout."""

from __future__ import annotations

from typing import Any

from shop.customers.models import Intake
from shop.documents.common import UNREPAIRED, answered, common_fields, day
from shop.estimates import services as estimate_services
from shop.estimates.models import EstimateLine
from shop.estimates.services import SentEstimate
from shop.jobs.events.shipped import Shipped
from shop.jobs.queries import Traveller
from shop.lib.refusals import refuse
from shop.lib.text import spaced
from shop.lib.web.templatetags.formatting import brief, brief_price, price
from shop.preferences import current as preferences

ROUNDING = (
    "Each line is rounded half up to the smallest coin. Tax is reckoned once for each rate, on the "
    "sum of its lines, and rounded the same way."
)

_ANSWERS = {"yes": "Agreed", "no": "Declined", "question": "A question was asked"}
_SHIPMENT = ("carrier", "tracking", "note")


def estimate_document(traveller: Traveller) -> dict[str, Any]:
    """Return the estimate sent last; Refused when none was sent."""
    sent = estimate_services.sent_estimates(traveller.record)
    if not sent:
        reason = (
            f"No estimate of job {traveller.job.number} was sent; its paper follows the sending."
        )
        raise refuse("no-estimate", reason)
    return common_fields(
        traveller, f"Estimate, version {sent[0].estimate.version}"
    ) | _estimate_content(sent[0])


def _estimate_content(sent: SentEstimate) -> dict[str, Any]:
    estimate = sent.estimate
    totals = estimate.totals()
    taxes = [
        [
            f"{estimate.tax_name} {brief(tax.rate)} % on {price(tax.base, estimate.currency)}",
            price(tax.amount, estimate.currency),
        ]
        for tax in totals.taxes
        if tax.rate
    ]
    return {
        "words": estimate.words,
        "lines": [_line_cells(line) for line in estimate.lines.all()],
        "sums": [["Without tax", price(totals.net, estimate.currency)], *taxes],
        "total": price(totals.gross, estimate.currency),
        "answer": _answer(sent),
        # An answer can be written on the paper while there is none.
        "asks": sent.answer in ("sent", "question"),
        "notes": [ROUNDING, *preferences.value("terms").splitlines()],
    }


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
    sent_words = f"Sent on {day(sent_at)}." if sent_at else ""
    if sent_estimate.row is None:
        return sent_words
    way = answered(sent_estimate.row.data.get("way"))
    words = _ANSWERS.get(sent_estimate.answer, spaced(sent_estimate.answer))
    return f"{sent_words} {words}{way}, {day(sent_estimate.row.at)}."


def packing_list(traveller: Traveller) -> dict[str, Any]:
    """Return what goes into the parcel; Refused while the unit is on the bench."""
    if not traveller.job.closed:
        reason = (
            f"Job {traveller.job.number} is on the bench; its packing list follows when it leaves."
        )
        raise refuse("not-closed", reason)
    intake = Intake.objects.select_related("customer").filter(job=traveller.job).first()
    shipments = traveller.record.of_type(Shipped.event_type)
    things = [str(traveller.job.unit), *(intake.things if intake else [])]
    papers = ["release record"] if traveller.job.stage == "released" else ["hand-back note"]
    return common_fields(traveller, "Packing list") | {
        "things": [*things, *papers, "parts taken out, if the customer wants them"],
        "warning": "" if traveller.job.stage == "released" else UNREPAIRED,
        "carried": [
            str(shipments[-1].data[name])
            for name in _SHIPMENT
            if shipments and shipments[-1].data.get(name)
        ],
    }
