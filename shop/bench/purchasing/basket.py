"""What to order where: the basket that covers all needs for the least total.

Total is the price of the parts, the postage, and the days that blocked jobs wait, at a stated
price per day. Solved as a mixed-integer programme with SciPy's HiGHS; plain Python otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

import numpy as np
import scipy

from shop.bench.purchasing.basket_terms import Basket, Need, Offer, Terms, priced, unit_price

Column = tuple[str, ...]


@dataclass
class _Programme:
    """Columns and rows of a mixed-integer programme, by name."""

    place: dict[Column, int] = field(default_factory=dict)
    cost: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    integer: list[int] = field(default_factory=list)
    rows: list[tuple[dict[Column, float], float, float]] = field(default_factory=list)

    def add(self, name: Column, cost: float = 0.0, upper: float = 1.0, whole: bool = True) -> None:
        self.place[name] = len(self.cost)
        self.cost.append(cost)
        self.upper.append(upper)
        self.integer.append(int(whole))

    def require(
        self, terms: dict[Column, float], low: float = -np.inf, high: float = np.inf
    ) -> None:
        self.rows.append((terms, low, high))

    def solve(self, seconds: float) -> tuple[dict[Column, float] | None, float]:
        """Return the value of every column and the relative gap that is left."""
        entries = [
            (row, self.place[name], factor)
            for row, (terms, _, _) in enumerate(self.rows)
            for name, factor in terms.items()
        ]
        rows, columns, factors = (np.array(part) for part in zip(*entries, strict=True))
        matrix = scipy.sparse.coo_matrix(
            (factors, (rows, columns)), shape=(len(self.rows), len(self.cost))
        )
        lows, highs = [low for _, low, _ in self.rows], [high for _, _, high in self.rows]
        solution = scipy.optimize.milp(
            self.cost,
            constraints=scipy.optimize.LinearConstraint(matrix.tocsr(), lows, highs),
            bounds=scipy.optimize.Bounds(0, self.upper),
            integrality=self.integer,
            options={"time_limit": seconds, "mip_rel_gap": 0.0},
        )
        if solution.x is None:
            return None, float("inf")
        gap = 0.0 if solution.status == 0 else float(solution.mip_gap or 0.0)
        return {name: float(solution.x[place]) for name, place in self.place.items()}, gap


def best_basket(
    needs: Sequence[Need],
    offers: Sequence[Offer],
    terms: Sequence[Terms],
    *,
    price_per_day: Decimal = Decimal(0),
    seconds: float = 5.0,
) -> Basket:
    """Return the cheapest basket that covers every need, with the gap left to the proven bound.

    Needs are not split between suppliers; more may be bought than needed, to reach a price
    break or free postage. An order below a supplier's minimum is filled up to it, at cost. A job waits for the slowest of its required parts.
    ValueError with a sentence when a need has no offer, an amount is negative, or no basket
    was found in `seconds`.
    Source: a facility-location model with price breaks; checked against brute force.
    """
    _require_sense(needs, offers, terms, price_per_day)
    programme = _Programme()
    _columns(programme, needs, offers, terms, price_per_day)
    _rows(programme, needs, offers, terms)
    values, gap = programme.solve(seconds)
    if values is None:
        raise ValueError(f"No basket was found in {seconds:g} s; order fewer parts at once.")
    where = {n.name: o.supplier for n in needs for o in offers if _chosen(values, n, o)}
    bought = {
        (o.supplier, o.item): round(
            sum(values["q", o.supplier, o.item, str(b)] for b, _ in o.breaks)
        )
        for o in offers
    }
    return priced(
        needs, offers, terms, where=where, bought=bought, price_per_day=price_per_day, gap=gap
    )


def _chosen(values: dict[Column, float], need: Need, offer: Offer) -> bool:
    return offer.item == need.item and values["x", need.name, offer.supplier] > 0.5


def _columns(
    programme: _Programme,
    needs: Sequence[Need],
    offers: Sequence[Offer],
    terms: Sequence[Terms],
    price_per_day: Decimal,
) -> None:
    for need in needs:
        for offer in offers:
            if offer.item == need.item:
                programme.add(("x", need.name, offer.supplier))
    by_supplier = {t.supplier: t for t in terms}
    for offer in offers:
        most = _most(offer, needs, by_supplier[offer.supplier])
        for quantity, price in offer.breaks:
            at = (offer.supplier, offer.item, str(quantity))
            programme.add(("q", *at), _units(price), most)
            programme.add(("z", *at))
    for supplier in terms:
        programme.add(("y", supplier.supplier), _units(supplier.postage))
        if supplier.minimum:
            most_short = _units(supplier.minimum)
            programme.add(("t", supplier.supplier), 1.0, most_short, whole=False)
        if supplier.free_above is not None:
            programme.add(("f", supplier.supplier), -_units(supplier.postage))
    longest = max((offer.days for offer in offers), default=0)
    for job in {need.job for need in needs if need.required}:
        programme.add(("w", job), _units(price_per_day), longest, whole=False)


def _most(offer: Offer, needs: Sequence[Need], terms: Terms) -> int:
    """Return the largest quantity that can pay: the need, a break, or free postage."""
    wanted = sum(need.quantity for need in needs if need.item == offer.item)
    lowest = min(price for _, price in offer.breaks)
    to_reach = math.ceil((terms.free_above or 0) / lowest) if lowest else 0
    return max([wanted, to_reach, *(quantity for quantity, _ in offer.breaks)])


def _rows(
    programme: _Programme, needs: Sequence[Need], offers: Sequence[Offer], terms: Sequence[Terms]
) -> None:
    for need in needs:
        fitting = [offer for offer in offers if offer.item == need.item]
        programme.require({("x", need.name, o.supplier): 1.0 for o in fitting}, 1.0, 1.0)
        if need.required:
            for offer in fitting:
                late = {("w", need.job): 1.0, ("x", need.name, offer.supplier): -float(offer.days)}
                programme.require(late, low=0.0)
    by_supplier = {t.supplier: t for t in terms}
    for offer in offers:
        _rows_of_offer(programme, offer, needs, by_supplier[offer.supplier])
    for supplier in terms:
        _rows_of_supplier(programme, supplier, offers)


def _rows_of_offer(
    programme: _Programme, offer: Offer, needs: Sequence[Need], terms: Terms
) -> None:
    at = (offer.supplier, offer.item)
    mine = [need for need in needs if need.item == offer.item]
    covers: dict[Column, float] = {("q", *at, str(q)): 1.0 for q, _ in offer.breaks}
    covers |= {("x", need.name, offer.supplier): -float(need.quantity) for need in mine}
    programme.require(covers, low=0.0)
    most = _most(offer, needs, terms)
    # A quantity is paid at the price of its own break: nobody may pay more to reach free postage.
    ends = [following - 1 for following, _ in offer.breaks[1:]] + [most]
    for (quantity, _), end in zip(offer.breaks, ends, strict=True):
        name = (*at, str(quantity))
        programme.require({("q", *name): 1.0, ("z", *name): -float(quantity)}, low=0.0)
        programme.require({("q", *name): 1.0, ("z", *name): -float(end)}, high=0.0)
    one_break = {("z", *at, str(q)): 1.0 for q, _ in offer.breaks}
    programme.require(one_break | {("y", offer.supplier): -1.0}, high=0.0)


def _rows_of_supplier(programme: _Programme, terms: Terms, offers: Sequence[Offer]) -> None:
    spend = {
        ("q", o.supplier, o.item, str(q)): _units(price)
        for o in offers
        if o.supplier == terms.supplier
        for q, price in o.breaks
    }
    if not spend:
        return
    if terms.minimum:
        short: Column = ("t", terms.supplier)
        least = {short: 1.0, ("y", terms.supplier): -_units(terms.minimum)}
        programme.require(spend | least, low=0.0)
    if terms.free_above:
        free: Column = ("f", terms.supplier)
        programme.require(spend | {free: -_units(terms.free_above)}, low=0.0)
        programme.require({free: 1.0, ("y", terms.supplier): -1.0}, high=0.0)
    elif terms.free_above is not None:
        programme.require({("f", terms.supplier): 1.0, ("y", terms.supplier): -1.0}, high=0.0)


def _units(amount: Decimal) -> float:
    """Return money in ten-thousandths: whole numbers, which the solver's binary counts exactly."""
    return float(round(amount * 10_000))


def line_by_line(
    needs: Sequence[Need],
    offers: Sequence[Offer],
    terms: Sequence[Terms],
    *,
    price_per_day: Decimal = Decimal(0),
) -> Basket:
    """Return the basket of somebody who buys each line where it is cheapest, for comparison."""
    _require_sense(needs, offers, terms, price_per_day)
    where: dict[str, str] = {}
    bought: dict[tuple[str, str], int] = {}
    for need in needs:
        fitting = [offer for offer in offers if offer.item == need.item]
        best = min(fitting, key=lambda o: (unit_price(o, need.quantity), o.days, o.supplier))
        where[need.name] = best.supplier
        bought[best.supplier, need.item] = bought.get((best.supplier, need.item), 0) + need.quantity
    return priced(needs, offers, terms, where=where, bought=bought, price_per_day=price_per_day)


def _require_sense(
    needs: Sequence[Need], offers: Sequence[Offer], terms: Sequence[Terms], price_per_day: Decimal
) -> None:
    if price_per_day < 0:
        raise ValueError(f"price_per_day is {price_per_day}; it must not be negative.")
    if not needs:
        raise ValueError("There is nothing to order.")
    offered = {offer.item for offer in offers}
    for need in needs:
        if need.item not in offered:
            raise ValueError(f"{need.name}: nobody offers {need.item}.")
        if need.quantity < 1:
            raise ValueError(f"{need.name}: quantity is {need.quantity}; it must be 1 or more.")
    known = {t.supplier for t in terms}
    for offer in offers:
        quantities = [quantity for quantity, _ in offer.breaks]
        if offer.supplier not in known:
            raise ValueError(f"The terms of {offer.supplier} are not known.")
        if not quantities or quantities[0] < 1 or any(a >= b for a, b in pairwise(quantities)):
            raise ValueError(f"{offer.supplier}, {offer.item}: price breaks must rise from 1.")
        if any(price < 0 for _, price in offer.breaks):
            raise ValueError(f"{offer.supplier}, {offer.item}: a price is negative.")
