"""Which instruments measure what."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from checklists.engine.quoting import quoted
from checklists.engine.words import MEASURED
from shop.instruments import accuracies
from shop.instruments.accuracies import title
from shop.instruments.models import Accuracy, Instrument, LastUsed
from shop.lib.refusals import bad
from shop.lib.text import whole


@dataclass(frozen=True)
class Offer:
    """The instruments in use that measure one thing; `chosen` is the one that is proposed."""

    measures: str
    instruments: list[Instrument]
    chosen: int | None
    overdue: frozenset[int]

    @property
    def connected(self) -> list[Instrument]:
        """Those that can be asked over a line for it."""
        return [one for one in self.instruments if can_be_asked(one, self.measures)]

    @property
    def for_worker(self) -> list[Instrument]:
        """Those that the worker can ask by itself, the proposed one first."""
        found = [one for one in self.connected if not one.connection.at_browser]
        return sorted(found, key=lambda one: one.pk != self.chosen)

    @property
    def title(self) -> str:
        """What it measures, in words."""
        return title(self.measures)


def offers(wanted: Collection[str], *, by: User | None, on: date) -> list[Offer]:
    """Return an offer for each of what is measured that some instrument in use measures.

    The one that this person used last is proposed. One query where the shop has none.
    """
    if not wanted:
        return []
    rows = Accuracy.objects.filter(measures__in=set(wanted), instrument__retired_at=None)
    by_kind: dict[str, dict[int, Instrument]] = {}
    for row in rows.select_related("instrument__connection").order_by("instrument__name"):
        by_kind.setdefault(row.measures, {})[row.instrument_id] = row.instrument
    last = _last_used(by, by_kind) if by_kind and by is not None else {}
    return [
        Offer(
            kind,
            list(found.values()),
            last.get(kind) if last.get(kind) in found else None,
            frozenset(number for number, one in found.items() if one.overdue(on)),
        )
        for kind in dict.fromkeys(wanted)
        if (found := by_kind.get(kind))
    ]


def can_be_asked(instrument: Instrument, measures: str) -> bool:
    """Whether an instrument has a tested connection, and a command for this."""
    connection = getattr(instrument, "connection", None)
    return connection is not None and connection.tested and measures in connection.commands


def any_connected() -> bool:
    """Whether any instrument in use can be asked over a line; one query."""
    known = Instrument.objects.filter(retired_at=None, connection__isnull=False)
    return known.exclude(connection__identity="").exists()


def reads(instrument: Instrument, measures: str) -> bool:
    """Whether a reading of this can be taken from it: it is in use, connected, its accuracy known."""
    known = instrument.accuracies.filter(measures=measures).exists()
    return instrument.retired_at is None and known and can_be_asked(instrument, measures)


def source(instrument: Instrument, measures: str, value: float, on: date) -> str:
    """Return where a reading is from: the instrument, what it may be off by, its calibration.

    value: in the unit of what is measured, without a prefix.
    """
    about = [instrument.make_model, f"serial {instrument.serial}" if instrument.serial else ""]
    named = ", ".join(filter(None, about))
    ranges = list(instrument.accuracies.filter(measures=measures))
    half = accuracies.interval(ranges, abs(value)).half if ranges else None
    off = f"± {accuracies.amount(half, MEASURED[measures][1])}" if half else ""
    overdue = "calibration past due" if instrument.overdue(on) else ""
    who = f"{instrument} ({named})" if named else str(instrument)
    return ", ".join(filter(None, [who, off, overdue]))


def _last_used(by: User, kinds: Collection[str]) -> dict[str, int]:
    rows = LastUsed.objects.filter(by=by, measures__in=list(kinds))
    return dict(rows.values_list("measures", "instrument_id"))


@dataclass(frozen=True)
class Named:
    """An instrument that was named for a measurement, with its ranges for that."""

    instrument: Instrument
    ranges: list[Accuracy]


def named(chosen: Mapping[str, object]) -> dict[str, Named | None]:
    """Return the instrument named for each of what is measured; None where none is named.

    BadInput when it is no instrument in use, or has no accuracy for that.
    """
    return {measures: _named(measures, given) for measures, given in chosen.items()}


def _named(measures: str, given: object) -> Named | None:
    if given in (None, ""):
        return None
    number = whole(str(given))
    found = Instrument.objects.filter(pk=number, retired_at=None).first() if number else None
    if found is None:
        raise bad(
            "instruments",
            _("instruments has {given}; no instrument in use has it.").format(given=quoted(given)),
        )
    ranges = list(found.accuracies.filter(measures=measures))
    if not ranges:
        raise bad(
            "instruments",
            _("{found} has no accuracy for {title}; name one that has.").format(
                found=found, title=title(measures)
            ),
        )
    return Named(found, ranges)
