"""What somebody else owes: an answer of the customer, a part."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from shop.jobs.needs import Need
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act, Choice
from shop.jobs.next_act.situation import Situation
from shop.parts import stock
from shop.parts.models import Order

# How long somebody is left in peace before the bench asks: common practice.
PATIENCE = timedelta(days=1)


def answer_of_the_customer(at: Situation) -> Act | None:
    """Wait for the answer to the estimate, then write it down; mains is off by then."""
    if at.record.estimate not in ("sent", "question") or at.record.soak == "running":
        return None
    why = gettext_noop("The estimate is with the customer; what it covers is not agreed yet.")
    if at.energised:
        return at.act(("power", "isolated"), why)
    until = _last_row_at(at, "estimate_sent", "estimate_answered") + PATIENCE
    if at.record.estimate == "sent" and at.now < until:
        return acts.wait(until, "customer", gettext_noop("Wait for the customer's answer"), why)
    choices = [
        Choice(title=title, kind="estimate_answered", data={"answer": answer})
        for title, answer in _ANSWERS
    ]
    return acts.choose(
        gettext_noop("Ask the customer: what do they say to the estimate?"), why, choices
    )


_ANSWERS = (
    (gettext_noop("No: it goes back as it is"), "no"),
    (gettext_noop("They ask something"), "question"),
    (gettext_noop("Yes: it is agreed"), "yes"),
)


def _last_row_at(at: Situation, *types: str) -> datetime:
    return max(row.at for kind in types for row in at.record.of_type(kind))


def parts_to_come(at: Situation) -> Act | None:
    """Order what the unit cannot leave without, wait for it on the shelf, and take it in."""
    needs = at.record.outstanding_required
    if not needs:
        return _back_on_the_bench(at)
    if at.stage not in ("opened", "awaiting_parts"):
        return None
    unordered = [need for need in needs if not need.ordered]
    if unordered:
        return _order(unordered[0])
    return _await(at, needs[0])


def _back_on_the_bench(at: Situation) -> Act | None:
    if at.stage != "awaiting_parts":
        return None
    return at.act(("stage", "opened"), gettext_noop("All that it waited for is here."))


def _order(need: Need) -> Act:
    order = Choice(
        title=_("Order it: {part}").format(part=need.spec),
        kind="part_ordered",
        data={"need": need.sequence},
    )
    if not _in_stock(need):
        return acts.record(
            order, gettext_noop("The unit cannot leave without it, and nobody has ordered it.")
        )
    take = Choice(
        title=_("Take it from stock: {part}").format(part=need.spec),
        kind="part_arrived",
        data={"need": need.sequence, "from_stock": True},
    )
    why = gettext_noop("The unit cannot leave without it, and enough of it lies free in a bin.")
    return acts.choose(_("Get it: {part}").format(part=need.spec), why, [order, take])


def _in_stock(need: Need) -> bool:
    free = stock.free_by_part([need.part]) if need.part else {}
    return free.get(need.part or 0, 0) >= need.missing


def _await(at: Situation, need: Need) -> Act:
    until = _expected(at, need)
    if at.now >= until:
        return _arrived(need)
    why = _("{part} is on order.").format(part=need.spec)
    if at.stage != "awaiting_parts":
        return at.act(("stage", "awaiting_parts"), why)
    return acts.wait(until, "parts", gettext_noop("Wait for the part"), why)


def _expected(at: Situation, need: Need) -> datetime:
    """Return when to look whether it has come: on its day, or a day after it was ordered."""
    order = Order.objects.filter(pk=need.order).first() if need.order else None
    if order is not None and order.expected_on:
        return timezone.make_aware(datetime.combine(order.expected_on, time(12)))
    ordered = [
        r.at for r in at.record.of_type("part_ordered") if r.data.get("need") == need.sequence
    ]
    return max(ordered, default=at.now) + PATIENCE


def _arrived(need: Need) -> Act:
    about = {"need": need.sequence}
    choices = [
        Choice(title=gettext_noop("It is lost"), kind="part_lost", data={**about, "why": "lost"}),
        Choice(title=gettext_noop("It is here"), kind="part_arrived", data=about),
    ]
    return acts.choose(
        _("Has it come: {part}?").format(part=need.spec),
        _("It should be here by now."),
        choices,
    )
