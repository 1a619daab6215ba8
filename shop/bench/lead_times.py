"""Flow and parts sums as calculations of their own: plain numbers in, a frozen result out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from shop.bench import flow
from shop.bench.basket import best_basket, line_by_line
from shop.bench.basket_terms import Basket, Need, Offer, Terms
from shop.bench.inputs import series, whole, within


@dataclass(frozen=True, slots=True)
class ShelfTime:
    """Little's law both ways."""

    inside: float
    stay_days: float


def shelf_time(inside: float, finished_per_day: float) -> ShelfTime:
    """Return how long what is inside takes at the rate at which work is finished.

    inside 0..1e9 units, finished_per_day 1e-9..1e9 a day.
    Formula: W = L / lambda.
    Caution: NOTICE. It holds for long averages of a steady shop, not for the next parcel.
    Source: J. D. C. Little and S. C. Graves, "Building Intuition", chapter 5 (W12.1 to W12.4).
    """
    return ShelfTime(inside, flow.days_to_finish(inside, finished_per_day))


@dataclass(frozen=True, slots=True)
class LeadTime:
    """A skewed delivery time."""

    median_days: float
    mean_days: float
    p85_days: float
    p95_days: float
    sigma: float


def lead_time(middle_days: float, slow_days: float) -> LeadTime:
    """Return the delivery times to reckon with, from the middle one and the slowest of ten.

    middle_days (half come sooner) above 0; slow_days (nine of ten come sooner) at least that.
    Formula: lognormal, sigma = ln(p90/p50) / 1.28155.
    Caution: NOTICE. Percentiles do not add: two parcels are not late by the sum of both.
    Source: lognormal distribution (W12.5).
    """
    made = flow.lognormal_from_median(middle_days, slow_days)
    return LeadTime(made.median, made.mean, made.percentile(85), made.percentile(95), made.sigma)


@dataclass(frozen=True, slots=True)
class FinishChance:
    """The chance of finishing so many in time."""

    chance_percent: float
    weeks: int


def finish_chance(finished_each_week: Sequence[float], wanted: float, weeks: float) -> FinishChance:
    """Return the chance that so many units are finished in so many weeks, from past weeks.

    finished_each_week 0..10,000 a week, at least one week; wanted 0..100,000; weeks 1..104.
    Formula: past weeks drawn again and again, summed, counted.
    Caution: NOTICE. Past weeks foretell only while the shop and its mix stay as they were.
    Source: resampling; enumeration of W12.7.
    """
    past = [int(n) for n in series("finished_each_week", finished_each_week, 0, 10_000, "units")]
    span = whole("weeks", weeks, 1, 104)
    chance = flow.chance_of_finishing(past, whole("wanted", wanted, 0, 100_000), span)
    return FinishChance(chance * 100, span)


@dataclass(frozen=True, slots=True)
class CheapestOrder:
    """The cheapest way to buy a list, against the best offer for each line."""

    total: str
    saving: str
    proved: bool
    lines: tuple[str, ...]
    postage: tuple[str, ...]


_OFFER = re.compile(r"^(?P<supplier>[^:]+):(?P<item>[^:]+):(?P<breaks>[\d.@+]+)$")


def cheapest_order(
    needs: Sequence[str], offers: Sequence[str], postage: Sequence[str]
) -> CheapestOrder:
    """Return which supplier gets which line so that prices and postage together cost least.

    needs like `relay=2`; offers like `North:relay:1@2.50+10@2.20` (quantity@price from there on);
    postage like `North=4.90`. ValueError names the entry that cannot be read.
    Formula: mixed-integer programme (SciPy milp, HiGHS); `proved` when no other basket is cheaper.
    Caution: NOTICE. Prices without tax; a delivery that waits for one part waits for all of its parcel.
    Source: brute force over small markets in the tests.
    """
    if not needs or not offers:
        raise ValueError("needs and offers each take at least one entry.")
    wanted = [_need(place, text) for place, text in enumerate(needs)]
    offered = [_offer(text) for text in offers]
    suppliers = dict.fromkeys(offer.supplier for offer in offered)
    costs = dict(_amount("postage", text) for text in postage)
    terms = [Terms(name, postage=costs.get(name, Decimal(0))) for name in suppliers]
    best = best_basket(wanted, offered, terms)
    plain = line_by_line(wanted, offered, terms)
    return CheapestOrder(
        f"{best.total:.2f}",
        f"{plain.total - best.total:.2f}",
        best.proved,
        tuple(
            f"{line.supplier}: {line.quantity} x {line.item} at {line.price}" for line in best.lines
        ),
        tuple(f"{name}: {cost}" for name, cost in _fees(best).items()),
    )


def _fees(basket: Basket) -> dict[str, Decimal]:
    return {name: cost for name, cost in basket.postage.items() if cost}


def _need(place: int, text: str) -> Need:
    item, amount = _amount("needs", text)
    return Need(f"line {place + 1}", item, whole("needs", float(amount), 1, 9999), f"{place}")


def _offer(text: str) -> Offer:
    found = _OFFER.match(text.strip())
    if found is None:
        raise ValueError(f"offers has {text!r}; write it like North:relay:1@2.50+10@2.20.")
    pairs = [pair.split("@") for pair in found["breaks"].split("+")]
    if any(len(pair) != 2 for pair in pairs):
        raise ValueError(f"offers has {text!r}; each price is a quantity@price.")
    breaks = tuple((whole("quantity", float(q), 1, 9999), _money(p)) for q, p in pairs)
    return Offer(found["supplier"].strip(), found["item"].strip(), breaks, 3)


def _amount(field: str, text: str) -> tuple[str, Decimal]:
    name, _, amount = text.partition("=")
    if not name.strip() or not amount.strip():
        raise ValueError(f"{field} has {text!r}; write it like relay=2.")
    return name.strip(), _money(amount)


def _money(text: str) -> Decimal:
    try:
        amount = float(text)
    except ValueError:
        raise ValueError(f"{text!r} is no amount; write it like 2.50.") from None
    return Decimal(str(within("amount", amount, 0, 1e6, "")))
