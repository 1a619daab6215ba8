"""A bill beside the agreement: whether their sums agree, and in which lines they do not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from shop.bills.drafting import agreed_estimate
from shop.bills.models import Bill
from shop.estimates.models import Estimate
from shop.jobs import queries
from shop.jobs.record import Record
from shop.lib.money import formatted, rounded


@dataclass(frozen=True)
class Comparison:
    """What was agreed, and what differs from it in sentences; none where the bill keeps to it."""

    differences: list[str]

    @property
    def agrees(self) -> bool:
        """Whether the customer pays what was agreed to."""
        return not self.differences


def compare(bill: Bill) -> Comparison:
    """Put a bill beside the version that was agreed to, or beside the limit where none was."""
    record = queries.record_of(bill.job)
    agreed = agreed_estimate(record)
    if agreed is None:
        return Comparison(_beyond_limit(bill, record))
    before, now = agreed.totals().gross, bill.totals().gross
    if agreed.currency == bill.currency and before == now:
        return Comparison([])
    sentence = _("Version {version} was agreed at {before}, this comes to {now}.").format(
        version=agreed.version,
        before=formatted(before, agreed.currency),
        now=formatted(now, bill.currency),
    )
    return Comparison([sentence, *_by_line(agreed, bill)])


def _beyond_limit(bill: Bill, record: Record) -> list[str]:
    limit = record.agreement.ring_above
    if not limit or bill.totals().gross <= Decimal(limit):
        return []
    amount = formatted(rounded(Decimal(limit), bill.currency), bill.currency)
    return [
        _("The customer asked to be rung above {amount}, and no estimate is agreed.").format(
            amount=amount
        )
    ]


def _by_line(agreed: Estimate, bill: Bill) -> list[str]:
    before, now = _amounts(agreed.lines.all()), _amounts(bill.lines.all())
    gone = [_("Not billed: {words}.").format(words=words) for words in before if words not in now]
    new = [
        _("Not in the estimate: {words}.").format(words=words)
        for words in now
        if words not in before
    ]
    other = [
        _("{words}: {now} instead of {before}.").format(
            words=words,
            now=formatted(now[words], bill.currency),
            before=formatted(before[words], agreed.currency),
        )
        for words in now
        if words in before and now[words] != before[words]
    ]
    return [*gone, *new, *other]


def _amounts(lines: Iterable[Any]) -> dict[str, Decimal]:
    """Return the net amount by the words of the line."""
    found: dict[str, Decimal] = {}
    for line in lines:
        found[line.words] = found.get(line.words, Decimal(0)) + line.priced.net
    return found
