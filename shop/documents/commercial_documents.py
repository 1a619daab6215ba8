"""What the papers between shop and customer say: estimate, invoice figures, packing list."""

from __future__ import annotations

from typing import Any

from shop.customers.models import Intake
from shop.documents.contents import UNREPAIRED, common, when
from shop.estimates import services as estimate_services
from shop.estimates.models import Line
from shop.estimates.services import Answered
from shop.jobs.events.shipped import Shipped
from shop.jobs.queries import Traveller
from shop.lib.refusals import refuse
from shop.lib.text import spaced
from shop.lib.web.templatetags.formatting import brief, brief_price, price
from shop.messages.composing import warranted_until

ROUNDING = (
    "Each line is rounded half up to the smallest coin. Tax is reckoned once for each rate, on the "
    "sum of its lines, and rounded the same way."
)


def estimate(sheet: Traveller) -> dict[str, Any]:
    """Return the estimate sent last; Refused when none was sent."""
    sent = estimate_services.sent(sheet.record)
    if not sent:
        said = f"No estimate of job {sheet.job.number} was sent; its paper follows the sending."
        raise refuse("no-estimate", said)
    return common(sheet, f"Estimate, version {sent[0].estimate.version}") | _bill(sent[0])


def figures(sheet: Traveller) -> dict[str, Any]:
    """Return what is to be paid, from the version that was agreed to; Refused when none was."""
    agreed = [one for one in estimate_services.sent(sheet.record) if one.answer == "yes"]
    if not sheet.job.closed or not agreed:
        raise refuse(
            "not-agreed",
            f"Invoice figures of job {sheet.job.number} need an agreed estimate and a unit that has left "
            "the bench.",
        )
    told = _bill(agreed[0])
    if sheet.job.stage == "released":
        told["notes"].append(
            f"The repair is warranted until {warranted_until(sheet.job):%Y-%m-%d}."
        )
    return common(sheet, "Invoice figures") | told


def _bill(one: Answered) -> dict[str, Any]:
    made = one.estimate
    totals = made.totals()
    taxes = [
        [
            f"{made.tax_name} {brief(tax.rate)} % on {price(tax.base, made.currency)}",
            price(tax.amount, made.currency),
        ]
        for tax in totals.taxes
        if tax.rate
    ]
    return {
        "words": made.words,
        "lines": [_cells(line) for line in made.lines.all()],
        "sums": [["Without tax", price(totals.net, made.currency)], *taxes],
        "total": price(totals.gross, made.currency),
        "answer": _answer(one),
        "notes": [ROUNDING],
    }


def _cells(line: Line) -> list[str]:
    return [
        line.words,
        f"{brief(line.quantity)}{' h' if line.sort == Line.LABOUR else ''}",
        brief_price(line.price, line.estimate.currency),
        f"{brief(line.tax_rate)} %",
        price(line.priced.net, line.estimate.currency),
    ]


def _answer(one: Answered) -> str:
    sent = f"Sent {when(one.estimate.sent_at)}."
    if one.row is None:
        return f"{sent} No answer yet."
    way = f" by {spaced(one.row.data['way'])}" if one.row.data.get("way") else ""
    return f"{sent} Answer: {one.answer}{way}, {when(one.row.at)}."


def packing(sheet: Traveller) -> dict[str, Any]:
    """Return what goes into the parcel; Refused while the unit is on the bench."""
    if not sheet.job.closed:
        said = f"Job {sheet.job.number} is on the bench; its packing list follows when it leaves."
        raise refuse("not-closed", said)
    arrival = Intake.objects.select_related("customer").filter(job=sheet.job).first()
    gone = sheet.record.of_type(Shipped.event_type)
    things = [str(sheet.job.unit), *(arrival.things if arrival else [])]
    papers = ["release record"] if sheet.job.stage == "released" else ["hand-back note"]
    return common(sheet, "Packing list") | {
        "things": [*things, *papers, "parts taken out, if the customer wants them"],
        "address": arrival.customer.address if arrival and arrival.customer else "",
        "warning": "" if sheet.job.stage == "released" else UNREPAIRED,
        "carried": "; ".join(str(v) for v in gone[-1].data.values() if v) if gone else "",
    }
