"""What lies in the bins: every change is a movement, and no piece is promised twice.

Everything here runs inside the caller's transaction and locks stock rows in the order of their
keys. Whoever also locks jobs or orders locks those first, and takes several parts by `part_id`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.db.models import F, Sum

from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.parts.models import Bin, Movement, Part, Promise, Stock

ARRIVALS = "arrivals"
MOST = 1_000_000


@dataclass(frozen=True, slots=True)
class Hand:
    """Who moves pieces, when, and for which need if for one."""

    by: User | None
    at: datetime
    job: int | None = None
    need: int | None = None

    @property
    def whose(self) -> dict[str, int]:
        """The need that pieces are for; only asked of hands that have one."""
        if self.job is None or self.need is None:
            raise ValueError("A promise is made to a need of a job.")
        return {"job": self.job, "need": self.need}


def bin_named(name: str) -> Bin:
    """Return the bin of that name, made when it is new; without a name, the one for arrivals."""
    wanted = text.take("bin", name, 60) or ARRIVALS
    return Bin.objects.get_or_create(name=wanted)[0]


def free_of(parts: Iterable[int]) -> dict[int, int]:
    """Return how many pieces of each part no job has been promised; parts without any are left out."""
    lying = Stock.objects.filter(part__in=list(parts), on_hand__gt=F("promised"))
    pieces = lying.order_by().values("part").annotate(pieces_free=Sum(F("on_hand") - F("promised")))
    return dict(pieces.values_list("part", "pieces_free"))


def put_in(part: Part, place: Bin, quantity: int, why: str, hand: Hand, note: str = "") -> Stock:
    """Add pieces to a bin and return its stock."""
    _require_quantity(quantity)
    Stock.objects.get_or_create(part=part, bin=place)
    stock = Stock.objects.select_for_update().get(part=part, bin=place)
    _move(stock, quantity, why, hand, note)
    return stock


def take_out(stock_id: int, quantity: int, why: str, hand: Hand, note: str = "") -> Stock:
    """Take free pieces out of a bin; Refused when fewer are free."""
    _require_quantity(quantity)
    stock = Stock.objects.select_for_update().select_related("part", "bin").get(pk=stock_id)
    if stock.free < quantity:
        raise refuse("not-enough", f"{stock}: {stock.free} are free, {quantity} were asked for.")
    _move(stock, -quantity, why, hand, note)
    return stock


def count(stock_id: int, counted: int, hand: Hand, note: str = "") -> Stock:
    """Set a bin to what was counted; Refused when that is less than what is promised."""
    if not 0 <= counted <= MOST:
        raise bad("counted", f"counted is {counted}; it must be a whole number from 0 to {MOST:,}.")
    stock = Stock.objects.select_for_update().select_related("part", "bin").get(pk=stock_id)
    if counted < stock.promised:
        raise refuse(
            "promised",
            f"{stock}: {stock.promised} are promised to jobs. Take those promises back first.",
        )
    if counted != stock.on_hand:
        _move(stock, counted - stock.on_hand, "counted", hand, note)
    return stock


def promise(part: Part, quantity: int, hand: Hand) -> None:
    """Keep pieces for the need in `hand`, from the fullest bins; Refused when too few are free."""
    _require_quantity(quantity)
    rows = list(Stock.objects.select_for_update().filter(part=part).order_by("pk"))
    free = sum(stock.free for stock in rows)
    if free < quantity:
        raise refuse("not-enough", f"{part}: {free} are free, {quantity} were asked for.")
    left = quantity
    for stock in sorted(rows, key=lambda row: -row.free):
        taken = min(left, stock.free)
        if taken:
            promise_from(stock, taken, hand)
        left -= taken


def promise_from(stock: Stock, quantity: int, hand: Hand) -> None:
    """Keep pieces of a locked stock for the need in `hand`."""
    stock.promised += quantity
    stock.save(update_fields=["promised"])
    same = Promise.objects.filter(stock=stock, ended_at=None, **hand.whose)
    if not same.update(quantity=F("quantity") + quantity):
        Promise.objects.create(stock=stock, quantity=quantity, made_at=hand.at, **hand.whose)


def fit(hand: Hand) -> int:
    """Take what is kept for the need out of its bins; returns how many pieces that were."""
    return _end(hand, "fitted", leaves=True)


def send_back(hand: Hand) -> int:
    """Take what is kept for the need out of its bins, back to where it came from."""
    return _end(hand, "sent-back", leaves=True)


def release(hand: Hand) -> int:
    """Set what is kept for the need, or for all needs of the job, free again."""
    return _end(hand, "released", leaves=False)


def _end(hand: Hand, because: str, *, leaves: bool) -> int:
    live = Promise.objects.filter(job=hand.job or 0, ended_at=None)
    if hand.need is not None:
        live = live.filter(need=hand.need)
    ended = 0
    # By part first: whoever else takes several parts at once goes the same way round.
    for key, stock_id in live.order_by("stock__part_id", "stock_id").values_list("pk", "stock_id"):
        stock = Stock.objects.select_for_update().get(pk=stock_id)
        # Read under the lock: a promise grows and ends only while its stock is locked.
        kept = Promise.objects.filter(pk=key, ended_at=None).first()
        if kept is None:
            continue
        stock.promised -= kept.quantity
        stock.save(update_fields=["promised"])
        if leaves:
            mine = Hand(hand.by, hand.at, kept.job, kept.need)
            _move(stock, -kept.quantity, because, mine, "")
        kept.ended_at, kept.ended_because = hand.at, because
        kept.save(update_fields=["ended_at", "ended_because"])
        ended += kept.quantity
    return ended


def _move(stock: Stock, change: int, why: str, hand: Hand, note: str) -> None:
    stock.on_hand += change
    stock.save(update_fields=["on_hand"])
    Movement.objects.create(
        stock=stock,
        change=change,
        balance=stock.on_hand,
        why=why,
        note=text.take("note", note, 400),
        job=hand.job,
        need=hand.need,
        at=hand.at,
        by=hand.by,
    )


def _require_quantity(quantity: int) -> None:
    if not 1 <= quantity <= MOST:
        raise bad(
            "quantity", f"quantity is {quantity}; it must be a whole number from 1 to {MOST:,}."
        )
