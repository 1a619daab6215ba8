"""The cheapest order as a calculation: needs, offers and postage typed as short texts."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from shop.bench.inputs import whole, within
from shop.bench.purchasing.basket import best_basket, line_by_line
from shop.bench.purchasing.basket_terms import Basket, Need, Offer, Terms


@dataclass(frozen=True, slots=True, kw_only=True)
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
    postage like `North=4.90`, of every supplier, or of none: then it is left out of the sum. ValueError names the entry that cannot be read.
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
    _require_sound(offered, list(suppliers), list(costs))
    terms = [Terms(name, postage=costs.get(name, Decimal(0))) for name in suppliers]
    best = best_basket(wanted, offered, terms)
    plain = line_by_line(wanted, offered, terms)
    return CheapestOrder(
        total=f"{best.total:.2f}",
        saving=f"{plain.total - best.total:.2f}",
        proved=best.proved,
        lines=tuple(
            f"{line.supplier}: {line.quantity} x {line.item} at {line.price}" for line in best.lines
        ),
        postage=tuple(f"{name}: {cost}" for name, cost in _fees(best).items()),
    )


def _require_sound(offers: list[Offer], suppliers: list[str], posted: list[str]) -> None:
    """ValueError when a supplier's postage is not told, is told of nobody, or an offer stands twice."""
    for name in posted:
        if name not in suppliers:
            raise ValueError(f"postage names {name}, who offers nothing; is it misspelt?")
    for name in suppliers if posted else ():
        if name not in posted:
            raise ValueError(f"postage of {name} is not told; write {name}=0 where there is none.")
    seen = Counter((offer.supplier, offer.item) for offer in offers)
    for (supplier, item), times in seen.items():
        if times > 1:
            raise ValueError(f"offers has {item} of {supplier} {times} times; write it once.")


def _fees(basket: Basket) -> dict[str, Decimal]:
    return {name: cost for name, cost in basket.postage.items() if cost}


def _need(place: int, text: str) -> Need:
    item, amount = _amount("needs", text)
    return Need(
        name=f"line {place + 1}",
        item=item,
        quantity=whole("needs", float(amount), 1, 9999),
        job=f"{place}",
    )


def _offer(text: str) -> Offer:
    match = _OFFER.match(text.strip())
    if match is None:
        raise ValueError(f"offers has {text!r}; write it like North:relay:1@2.50+10@2.20.")
    pairs = [pair.split("@") for pair in match["breaks"].split("+")]
    if any(len(pair) != 2 for pair in pairs):
        raise ValueError(f"offers has {text!r}; each price is a quantity@price.")
    breaks = tuple((whole("quantity", float(q), 1, 9999), _money(p)) for q, p in pairs)
    return Offer(match["supplier"].strip(), match["item"].strip(), breaks, 3)


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
