"""What to order where: the open needs against all offers, worked out by the basket sum."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Prefetch, QuerySet
from django.utils.translation import gettext as _

from shop.bench.purchasing import basket_terms
from shop.bench.purchasing.basket import best_basket, line_by_line
from shop.bench.purchasing.basket_terms import Basket
from shop.jobs.models import JobPart
from shop.lib.refusals import bad, refuse
from shop.parts.models import Offer, Order, Part, Supplier
from shop.parts.orders import LineToOrder
from shop.planning import ordering

MOST_NEEDS = 60
SECONDS = 5.0


@dataclass(frozen=True)
class Proposal:
    """A basket, the one of buying each line where it is cheapest, and the rows behind the names."""

    basket: Basket
    line_by_line: Basket
    needs: dict[str, JobPart]
    parts: dict[str, Part]
    suppliers: dict[str, Supplier]

    @property
    def saving(self) -> Decimal:
        """What the basket saves against line by line."""
        return self.line_by_line.total - self.basket.total

    @property
    def gap_percent(self) -> float:
        """How much cheaper another basket could be at most."""
        return 100 * self.basket.gap

    @property
    def digest(self) -> str:
        """Names this very basket, so that a page gone stale cannot place another one."""
        lines = [(line, sorted(line.needs)) for line in self.basket.lines]
        return hashlib.sha256(repr(lines).encode()).hexdigest()[:16]

    @property
    def by_supplier(self) -> list[dict[str, object]]:
        """The basket as orders, for the page."""
        orders = []
        for name, supplier in self.suppliers.items():
            lines = [line for line in self.basket.lines if line.supplier == name]
            if lines:
                rows = [
                    {
                        "line": line,
                        "part": self.parts[line.item],
                        "needs": [self.needs[need] for need in line.needs],
                        "spare": line.quantity - sum(self.needs[n].missing for n in line.needs),
                    }
                    for line in lines
                ]
                postage, top_up = self.basket.postage[name], self.basket.top_up[name]
                orders.append(
                    {"supplier": supplier, "rows": rows, "postage": postage, "top_up": top_up}
                )
        return orders


def unordered_needs() -> QuerySet[JobPart]:
    """Return the outstanding needs that nobody has ordered, longest wait first."""
    open_needs = JobPart.objects.filter(outstanding=True, ordered=False)
    return open_needs.select_related("job__unit", "part").order_by("needed_at", "pk")


def with_offers(needs: QuerySet[JobPart]) -> QuerySet[JobPart]:
    """Return those of the needs whose part somebody sells at a known price."""
    return needs.filter(part__offers__breaks__isnull=False).distinct()


def propose_basket(chosen: Sequence[JobPart], price_per_day: Decimal) -> Proposal:
    """Work out the cheapest basket for these needs; BadInput with a sentence when there is none."""
    if not chosen:
        raise bad("needs", _("No part is chosen; tick at least one."))
    if len(chosen) > MOST_NEEDS:
        raise bad(
            "needs",
            _("{count} parts are chosen; order {most_needs} at most at once.").format(
                count=len(chosen), most_needs=MOST_NEEDS
            ),
        )
    offers = _offers([need.part_id for need in chosen])
    basket_needs = [
        basket_terms.Need(
            name=str(need.pk),
            item=str(need.part_id),
            quantity=need.missing,
            job=str(need.job_id),
            required=need.required,
        )
        for need in chosen
    ]
    suppliers = {str(offer.supplier_id): offer.supplier for offer in offers}
    market, terms = [_as_offer(offer) for offer in offers], [*map(_as_terms, suppliers.values())]
    try:
        best = best_basket(
            basket_needs, market, terms, price_per_day=price_per_day, seconds=SECONDS
        )
        line_by_line_basket = line_by_line(basket_needs, market, terms, price_per_day=price_per_day)
    except ValueError as error:
        raise bad("needs", str(error)) from None
    parts = {str(offer.part_id): offer.part for offer in offers}
    return Proposal(
        best, line_by_line_basket, {str(need.pk): need for need in chosen}, parts, suppliers
    )


def _offers(parts: Sequence[int | None]) -> list[Offer]:
    offers = Offer.objects.filter(part__in=[part for part in parts if part])
    offers_with_breaks = offers.prefetch_related(Prefetch("breaks")).select_related(
        "supplier", "part"
    )
    return [offer for offer in offers_with_breaks.order_by("pk") if offer.breaks.all()]


def _as_offer(offer: Offer) -> basket_terms.Offer:
    breaks = tuple((step.quantity, step.price) for step in offer.breaks.all())
    return basket_terms.Offer(
        str(offer.supplier_id), str(offer.part_id), breaks, offer.delivery_days
    )


def _as_terms(supplier: Supplier) -> basket_terms.Terms:
    return basket_terms.Terms(
        str(supplier.pk), supplier.postage, supplier.free_above, supplier.minimum
    )


def place_basket(proposal: Proposal, digest: str, *, by: User, at: datetime) -> list[Order]:
    """Place every order of the basket, all or none; Refused when it is not the one that was seen."""
    if digest != proposal.digest:
        raise refuse(
            "stale", _("Needs or prices have changed since. Look at the new basket first.")
        )
    placed = []
    with transaction.atomic():
        # All jobs of all orders at once, in one order.
        ordering.lock_jobs(need.job_id for need in proposal.needs.values())
        for name, supplier in proposal.suppliers.items():
            lines = [line for line in proposal.basket.lines if line.supplier == name]
            if lines:
                wanted = [_wanted(proposal, line) for line in lines]
                placed.append(ordering.place(supplier, wanted, by=by, at=at))
    return placed


def _wanted(proposal: Proposal, line: basket_terms.Line) -> LineToOrder:
    needs = tuple(
        ((need.job_id, need.need), need.missing)
        for need in (proposal.needs[name] for name in line.needs)
    )
    return LineToOrder(proposal.parts[line.item], line.quantity, line.price, needs)
