"""What is in the bins: every change is a movement, and no piece is reserved twice.

Everything here runs inside the caller's transaction and locks stock rows in the order of their
keys. Whoever also locks jobs or orders locks those first, and takes several parts by `part_id`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db.models import F, OuterRef, QuerySet, Subquery, Sum
from django.utils.translation import gettext as _

from checklists.engine.figures import grouped
from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.parts.models import Bin, Movement, Part, Reservation, Stock

ARRIVALS = "arrivals"
MOST = 1_000_000
_FREE = Sum(F("on_hand") - F("reserved"))


@dataclass(frozen=True, slots=True)
class StockActor:
    """Who moves pieces, when, and for which need of a job, if for one."""

    by: User | None
    at: datetime
    job: int | None = None
    need: int | None = None

    @property
    def need_key(self) -> dict[str, int]:
        """The need that pieces are for. ValueError for an actor without one."""
        if self.job is None or self.need is None:
            raise ValueError("Pieces are reserved for a need of a job; this actor has none.")
        return {"job": self.job, "need": self.need}


def get_or_create_bin(name: str) -> Bin:
    """Return the bin of that name, made when it is new; without a name, the one for arrivals."""
    wanted = text.take("bin", name, 60) or ARRIVALS
    return Bin.objects.get_or_create(name=wanted)[0]


def free_by_part(parts: Iterable[int]) -> dict[int, int]:
    """Return how many pieces of each part are not reserved; parts without any are left out."""
    found = _with_free(part__in=list(parts)).annotate(pieces_free=_FREE)
    return dict(found.values_list("part", "pieces_free"))


def free_of(part: OuterRef) -> Subquery:
    """Return how many pieces of a part of the outer query are not reserved; NULL for none."""
    return Subquery(_with_free(part=part).annotate(pieces_free=_FREE).values("pieces_free"))


def _with_free(**parts: Any) -> QuerySet[Stock, Any]:
    return Stock.objects.filter(on_hand__gt=F("reserved"), **parts).order_by().values("part")


def put_in(
    part: Part, place: Bin, quantity: int, why: str, actor: StockActor, note: str = ""
) -> Stock:
    """Add pieces to a bin and return its stock."""
    _require_quantity(quantity)
    Stock.objects.get_or_create(part=part, bin=place)
    stock = Stock.objects.select_for_update().get(part=part, bin=place)
    _move(stock, quantity, why, actor, note)
    return stock


def take_out(stock_id: int, quantity: int, why: str, actor: StockActor, note: str = "") -> Stock:
    """Take free pieces out of a bin; Refused when fewer are free."""
    _require_quantity(quantity)
    stock = Stock.objects.select_for_update().select_related("part", "bin").get(pk=stock_id)
    if stock.free < quantity:
        raise refuse(
            "not-enough",
            _("{stock}: {free} are free, {quantity} were asked for.").format(
                stock=stock, free=stock.free, quantity=quantity
            ),
        )
    _move(stock, -quantity, why, actor, note)
    return stock


def count(stock_id: int, counted: int, actor: StockActor, note: str = "") -> Stock:
    """Set a bin to what was counted; Refused when that is less than what is reserved."""
    if not 0 <= counted <= MOST:
        raise bad(
            "counted",
            _("counted is {counted}; it must be a whole number from 0 to {grouped}.").format(
                counted=counted, grouped=grouped(MOST)
            ),
        )
    stock = Stock.objects.select_for_update().select_related("part", "bin").get(pk=stock_id)
    if counted < stock.reserved:
        raise refuse(
            "promised",
            _(
                "{stock}: {reserved} are reserved for jobs. Release those reservations first."
            ).format(stock=stock, reserved=stock.reserved),
        )
    if counted != stock.on_hand:
        _move(stock, counted - stock.on_hand, "counted", actor, note)
    return stock


def reserve(part: Part, quantity: int, actor: StockActor) -> None:
    """Reserve pieces for the need in `actor`, from the fullest bins; Refused when too few are free."""
    _require_quantity(quantity)
    stocks = list(Stock.objects.select_for_update().filter(part=part).order_by("pk"))
    free = sum(stock.free for stock in stocks)
    if free < quantity:
        raise refuse(
            "not-enough",
            _("{part}: {free} are free, {quantity} were asked for.").format(
                part=part, free=free, quantity=quantity
            ),
        )
    still_needed = quantity
    for stock in sorted(stocks, key=lambda row: -row.free):
        taken = min(still_needed, stock.free)
        if taken:
            reserve_from(stock, taken, actor)
        still_needed -= taken


def reserve_from(stock: Stock, quantity: int, actor: StockActor) -> None:
    """Reserve pieces of a locked stock for the need in `actor`."""
    stock.reserved += quantity
    stock.save(update_fields=["reserved"])
    existing = Reservation.objects.filter(stock=stock, ended_at=None, **actor.need_key)
    if not existing.update(quantity=F("quantity") + quantity):
        Reservation.objects.create(
            stock=stock, quantity=quantity, made_at=actor.at, **actor.need_key
        )


def fit(actor: StockActor) -> int:
    """Take what is reserved for the need out of its bins; returns how many pieces that were."""
    return _end_reservations(actor, "fitted", leaves=True)


def send_back(actor: StockActor) -> int:
    """Take what is reserved for the need out of its bins, back to where it came from."""
    return _end_reservations(actor, "sent-back", leaves=True)


def release(actor: StockActor) -> int:
    """Free what is reserved for the need, or for all needs of the job."""
    return _end_reservations(actor, "released", leaves=False)


def _end_reservations(actor: StockActor, because: str, *, leaves: bool) -> int:
    reservations = Reservation.objects.filter(job=actor.job or 0, ended_at=None)
    if actor.need is not None:
        reservations = reservations.filter(need=actor.need)
    total = 0
    # By part first: whoever else takes several parts at once goes the same way round.
    for key, stock_id in reservations.order_by("stock__part_id", "stock_id").values_list(
        "pk", "stock_id"
    ):
        stock = Stock.objects.select_for_update().get(pk=stock_id)
        # Read under the lock: a reservation grows and ends only while its stock is locked.
        reservation = Reservation.objects.filter(pk=key, ended_at=None).first()
        if reservation is None:
            continue
        stock.reserved -= reservation.quantity
        stock.save(update_fields=["reserved"])
        if leaves:
            for_need = StockActor(actor.by, actor.at, reservation.job, reservation.need)
            _move(stock, -reservation.quantity, because, for_need, "")
        reservation.ended_at, reservation.ended_because = actor.at, because
        reservation.save(update_fields=["ended_at", "ended_because"])
        total += reservation.quantity
    return total


def _move(stock: Stock, change: int, why: str, actor: StockActor, note: str) -> None:
    stock.on_hand += change
    stock.save(update_fields=["on_hand"])
    Movement.objects.create(
        stock=stock,
        change=change,
        balance=stock.on_hand,
        why=why,
        note=text.take("note", note, 400),
        job=actor.job,
        need=actor.need,
        at=actor.at,
        by=actor.by,
    )


def _require_quantity(quantity: int) -> None:
    if not 1 <= quantity <= MOST:
        raise bad(
            "quantity",
            _("quantity is {quantity}; it must be a whole number from 1 to {grouped}.").format(
                quantity=quantity, grouped=grouped(MOST)
            ),
        )
