"""Whether the bills of a database hold: numbers without a gap, sums that are those of the lines."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.db import DEFAULT_DB_ALIAS

from shop.bills.models import Bill, BillLine, NumberSeries
from shop.estimates.pricing import PricedLine, totals


def faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Yield a sentence for each gap in the numbers and each sum that is another than its lines'."""
    yield from series_faults(using)
    yield from sum_faults(using)


def series_faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Yield a sentence for each year whose numbers have a gap, or whose count is another."""
    told = dict(NumberSeries.objects.using(using).values_list("year", "last"))
    places: dict[int, list[int]] = {year: [] for year in told}
    issued = Bill.objects.using(using).filter(place__isnull=False)
    for year, place in issued.order_by("year", "place").values_list("year", "place"):
        places.setdefault(year or 0, []).append(place or 0)
    for year, given in sorted(places.items()):
        if given != list(range(1, told.get(year, 0) + 1)):
            yield (
                f"Bills of {year}: {len(given)} are there, the last number is "
                f"{max(given, default=0)}, and {told.get(year, 0)} were given out."
            )


def sum_faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Yield a sentence for each issued bill that says another sum than its lines come to."""
    # Only what every release has: a backup is looked at before it is migrated.
    columns = ("pk", "year", "place", "currency", "gross")
    lines: dict[int, list[tuple[Decimal, Decimal, Decimal]]] = {}
    issued = BillLine.objects.using(using).filter(bill__place__isnull=False)
    cells = issued.values_list("bill", "quantity", "price", "tax_rate")
    for bill, quantity, price, rate in cells.iterator():
        lines.setdefault(bill, []).append((quantity, price, rate))
    bills = Bill.objects.using(using).filter(place__isnull=False).order_by("year", "place")
    for key, year, place, currency, gross in bills.values_list(*columns).iterator():
        priced = [PricedLine(*line, currency) for line in lines.get(key, ())]
        found = totals(priced, currency)
        if found.gross != gross:
            yield f"Bill {year}-{place:04} says {gross}, its lines come to {found.gross}."
