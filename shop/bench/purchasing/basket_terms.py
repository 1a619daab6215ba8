"""Needs, offers and terms of a basket, and what a basket costs, in exact decimals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """So many pieces of an item for a job; a required one keeps the job waiting."""

    name: str
    item: str
    quantity: int
    job: str
    required: bool = True


@dataclass(frozen=True, slots=True)
class Offer:
    """A supplier's price of an item from each quantity on, and the days until it is here."""

    supplier: str
    item: str
    breaks: tuple[tuple[int, Decimal], ...]
    days: int


@dataclass(frozen=True, slots=True)
class Terms:
    """Postage of an order, from which sum on it is free (None: never), and the least order."""

    supplier: str
    postage: Decimal = Decimal(0)
    free_above: Decimal | None = None
    minimum: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of an order: what is bought, at which price, and for which needs."""

    supplier: str
    item: str
    quantity: int
    price: Decimal
    needs: tuple[str, ...]

    @property
    def sum(self) -> Decimal:
        """Price of the line."""
        return self.quantity * self.price


@dataclass(frozen=True, slots=True, kw_only=True)
class Basket:
    """A basket with what it costs; `gap` is 0 when it is proved that none costs less."""

    lines: tuple[Line, ...]
    postage: Mapping[str, Decimal]
    top_up: Mapping[str, Decimal]
    days: Mapping[str, int]
    waiting: Decimal
    gap: float = 0.0

    @property
    def parts(self) -> Decimal:
        """What the parts cost."""
        return sum((line.sum for line in self.lines), Decimal(0))

    @property
    def total(self) -> Decimal:
        """Parts, postage, what is lost to a minimum order, and waiting."""
        fees = sum(self.postage.values(), Decimal(0)) + sum(self.top_up.values(), Decimal(0))
        return self.parts + fees + self.waiting

    @property
    def proved(self) -> bool:
        """Whether no cheaper basket exists."""
        return self.gap == 0.0


def unit_price(offer: Offer, quantity: int) -> Decimal:
    """Return the price of one piece when so many are bought; at least the first break is paid."""
    reached = [price for from_, price in offer.breaks if from_ <= quantity]
    return reached[-1] if reached else offer.breaks[0][1]


def priced(
    needs: Sequence[Need],
    offers: Sequence[Offer],
    terms: Sequence[Terms],
    *,
    where: Mapping[str, str],
    bought: Mapping[tuple[str, str], int],
    price_per_day: Decimal,
    gap: float = 0.0,
) -> Basket:
    """Return the basket in exact money, given which supplier serves each need and how many are bought."""
    by_offer = {(offer.supplier, offer.item): offer for offer in offers}
    lines = []
    for (supplier, item), quantity in sorted(bought.items()):
        if not quantity:
            continue
        offer = by_offer[supplier, item]
        # A supplier who sells from ten on sells ten to whoever wants three.
        quantity = max(quantity, offer.breaks[0][0])
        mine = tuple(n.name for n in needs if n.item == item and where[n.name] == supplier)
        lines.append(
            Line(
                supplier=supplier,
                item=item,
                quantity=quantity,
                price=unit_price(offer, quantity),
                needs=mine,
            )
        )
    days = _days(needs, by_offer, where)
    postage, top_up = _fees(lines, terms)
    return Basket(
        lines=tuple(lines),
        postage=postage,
        top_up=top_up,
        days=days,
        waiting=sum(days.values()) * price_per_day,
        gap=gap,
    )


def _days(
    needs: Sequence[Need], by_offer: Mapping[tuple[str, str], Offer], where: Mapping[str, str]
) -> dict[str, int]:
    days: dict[str, int] = {}
    for need in needs:
        if need.required:
            days_here = by_offer[where[need.name], need.item].days
            days[need.job] = max(days.get(need.job, 0), days_here)
    return days


def _fees(
    lines: Sequence[Line], terms: Sequence[Terms]
) -> tuple[dict[str, Decimal], dict[str, Decimal]]:
    postage: dict[str, Decimal] = {}
    top_up: dict[str, Decimal] = {}
    for supplier in terms:
        mine = [line.sum for line in lines if line.supplier == supplier.supplier]
        if not mine:
            continue
        spent = sum(mine, Decimal(0))
        free = supplier.free_above is not None and spent >= supplier.free_above
        postage[supplier.supplier] = Decimal(0) if free else supplier.postage
        top_up[supplier.supplier] = max(Decimal(0), supplier.minimum - spent)
    return postage, top_up
