"""Part rows of a ledger and the pieces in the bins, kept in step within one transaction."""

from __future__ import annotations

from typing import Any

from shop.jobs.commands.transaction import JobTransaction
from shop.jobs.record import Need
from shop.lib.refusals import bad, refuse
from shop.parts import orders, stock
from shop.parts.models import Part


def known_part(data: dict[str, Any]) -> None:
    """BadInput when the row names a part that is not in the list."""
    number = data.get("part")
    if number is not None and not Part.objects.filter(pk=number).exists():
        raise bad("part", f"part is {number}; there is no part of that number.")


def follow(tx: JobTransaction, kind: str, need: Need, data: dict[str, Any]) -> None:
    """Move pieces and orders as the row about a need says, before it is written."""
    actor = stock.StockActor(tx.by, tx.at, tx.job.number, need.sequence)
    if kind == "part_arrived":
        _arrived(actor, need, data)
    elif kind == "part_fitted":
        stock.fit(actor)
    elif kind == "part_lost":
        orders.drop_allocations(tx.job.number, tx.at, need.sequence)
        if data["why"] == "sent-back":
            stock.send_back(actor)
    elif kind == "part_specified":
        _respecified(need, data)


def _arrived(actor: stock.StockActor, need: Need, data: dict[str, Any]) -> None:
    quantity = data.setdefault("quantity", need.missing)
    if not 1 <= quantity <= need.missing:
        raise bad("quantity", f"quantity is {quantity}; {need.missing} of {need.spec} are missing.")
    place = data.pop("bin", "")
    if not data.get("from_stock"):
        orders.receive_for_need(actor.job or 0, need.sequence, quantity, actor, place)
        return
    if need.part is None:
        raise refuse("no-part", f"{need.spec}: say first which part of the stock list this is.")
    orders.drop_allocations(actor.job or 0, actor.at, need.sequence)
    stock.reserve(Part.objects.get(pk=need.part), quantity, actor)


def _respecified(need: Need, data: dict[str, Any]) -> None:
    """A need on order or partly here cannot become another part or fewer pieces."""
    other = data.get("part", need.part) != need.part
    fewer = data.get("quantity", need.quantity) < max(
        need.quantity if need.ordered else 0, need.pieces
    )
    if (need.ordered or need.pieces or need.fitted) and (other or fewer):
        raise refuse(
            "on-order",
            f"{need.spec} is ordered or here already. Give the order up first, or note another need.",
        )


def let_go(tx: JobTransaction) -> None:
    """Set free what was kept and ordered for a job that is closed."""
    stock.release(stock.StockActor(tx.by, tx.at, tx.job.number))
    orders.drop_allocations(tx.job.number, tx.at)
