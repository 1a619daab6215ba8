"""A ledger as people read it: a heading for each row, what it says, by whom and when."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import pgettext_lazy

from checklists.engine.history import WITHDRAWABLE
from checklists.engine.vocabulary import VOCABULARY
from shop.bench.units import spoken
from shop.jobs import events
from shop.jobs.events import stored
from shop.jobs.facts import shown_label
from shop.jobs.ledger import AnyRow
from shop.jobs.names import power_name, soak_name, stage_name
from shop.jobs.record import Record
from shop.lib import languages
from shop.lib.calculator_words import calculated
from shop.lib.pack_words import pack_title, pack_value, pack_word
from shop.lib.text import plain, spaced

# What the name of a type does not say well; the others are told by their names.
_HEADINGS = {
    "received": pgettext_lazy("entry of the ledger", "Received"),
    "complaint_recorded": pgettext_lazy("entry of the ledger", "Complaint"),
    "fact_recorded": pgettext_lazy("entry of the ledger", "Fact"),
    "finding_recorded": pgettext_lazy("entry of the ledger", "Found"),
    "trial_run": pgettext_lazy("entry of the ledger", "Trial"),
    "step_signed": pgettext_lazy("entry of the ledger", "Signed"),
    "step_waived": pgettext_lazy("entry of the ledger", "Waived"),
    "stage_changed": pgettext_lazy("entry of the ledger", "Moved"),
    "permit_granted": pgettext_lazy("entry of the ledger", "Mains permitted"),
    "power_applied": pgettext_lazy("entry of the ledger", "Mains on"),
    "power_removed": pgettext_lazy("entry of the ledger", "Mains off"),
    "plug_doubted": pgettext_lazy("entry of the ledger", "Treat as live"),
    "cover_removed": pgettext_lazy("entry of the ledger", "Cover off"),
    "cover_fitted": pgettext_lazy("entry of the ledger", "Cover on"),
    "soak_started": pgettext_lazy("entry of the ledger", "Soak started"),
    "suspect_changed": pgettext_lazy("entry of the ledger", "Cause"),
    "photo_added": pgettext_lazy("entry of the ledger", "Picture"),
    "note_added": pgettext_lazy("entry of the ledger", "Note"),
    "reading_taken": pgettext_lazy("entry of the ledger", "Reading"),
    "curve_measured": pgettext_lazy("entry of the ledger", "Curve"),
    "limit_agreed": pgettext_lazy("entry of the ledger", "Price limit"),
    "promise_made": pgettext_lazy("entry of the ledger", "Promised"),
    "owner_told": pgettext_lazy("entry of the ledger", "Customer told"),
    "bill_issued": pgettext_lazy("entry of the ledger", "Bill"),
    "bill_credited": pgettext_lazy("entry of the ledger", "Credit note"),
    "bill_paid": pgettext_lazy("entry of the ledger", "Payment"),
    "question_asked": pgettext_lazy("entry of the ledger", "Customer asked"),
    "question_replied": pgettext_lazy("entry of the ledger", "Answered"),
    "estimate_answered": pgettext_lazy("entry of the ledger", "Customer's answer"),
    "entry_withdrawn": pgettext_lazy("entry of the ledger", "Entry withdrawn"),
    "part_specified": pgettext_lazy("entry of the ledger", "Part changed"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of a ledger as a page shows it."""

    row: AnyRow
    heading: str
    words: str
    # Whether a later row took it back; it stays readable.
    withdrawn: bool

    @property
    def can_be_withdrawn(self) -> bool:
        """Whether it is of a sort that a correction may withdraw, and counts still."""
        return self.row.event_type in WITHDRAWABLE and not self.withdrawn

    @property
    def at(self) -> datetime:
        """When it was written, on the shop's clock."""
        return timezone.localtime(self.row.at)

    @property
    def day(self) -> date:
        """The day on the shop's clock."""
        return self.at.date()

    @property
    def time(self) -> str:
        """The time on the shop's clock: a filter would look up how each language writes it."""
        return f"{self.at:%H:%M}"


def entries(rows: Sequence[AnyRow], record: Record) -> list[Entry]:
    """Return rows as people read them, in the order given; `record` is that of their job."""
    return [
        Entry(row, _heading(row), _words(row, record), row.sequence in record.withdrawn)
        for row in rows
    ]


def withdrawable(record: Record, *, most: int) -> list[Entry]:
    """Return the newest entries that can be withdrawn, newest first."""
    return [one for one in entries(record.rows[::-1], record) if one.can_be_withdrawn][:most]


def _heading(row: AnyRow) -> str:
    known = _HEADINGS.get(row.event_type)
    return str(known) if known else pack_title(spaced(row.event_type).capitalize())


def _words(row: AnyRow, record: Record) -> str:
    tell = _TELL.get(row.event_type)
    try:
        if tell is not None:
            return "; ".join(part for part in tell(row.data, record) if part)
    except stored.ODD:
        pass
    return events.line(row, record)


_Parts = Sequence[str]
_Tell = Callable[[stored.Data, Record], _Parts]


def _texts(*names: str) -> _Tell:
    """Return what tells these fields, one after the other, keys as words."""

    def tell(data: stored.Data, record: Record) -> _Parts:
        return [
            text if " " in (text := stored.text(data, name)) else pack_word(text) for name in names
        ]

    return tell


def _note(data: stored.Data) -> str:
    return stored.text(data, "note")


def _received(data: stored.Data, record: Record) -> _Parts:
    back = data.get("returned_from")
    serial = stored.text(data, "serial")
    unit = f"{data['make']} {data['model']}".strip()
    return [
        unit,
        serial and _("serial {serial}").format(serial=serial),
        _("came back from job {number}").format(number=back) if back else "",
    ]


def _fact(data: stored.Data, record: Record) -> _Parts:
    fact, value = VOCABULARY.get(data["name"]), data["value"]
    name = shown_label(fact) if fact else spaced(data["name"])
    said = pack_value(value) if isinstance(value, str | list | bool) else plain(value)
    return [f"{name}: {said}", stored.text(data, "source")]


def _moved(data: stored.Data, record: Record) -> _Parts:
    stages = {"before": stage_name(data["from"]), "after": stage_name(data["to"])}
    return [_("{before} to {after}").format(**stages)]


def _permitted(data: stored.Data, record: Record) -> _Parts:
    gates = ", ".join(pack_word(gate) for gate in stored.texts(data, "gates"))
    return [power_name(data["power"]), _("gates passed: {gates}").format(gates=gates)]


def _trial(data: stored.Data, record: Record) -> _Parts:
    outcome = _("no fault") if data["fault"] is False else _("the fault showed")
    conditions = ", ".join(pack_word(word) for word in stored.texts(data, "conditions"))
    return [outcome, conditions, _note(data)]


def _reading(data: stored.Data, record: Record) -> _Parts:
    unit = stored.text(data, "unit")
    name = calculated(spoken(data["quantity"]))
    figure = f"{name} {stored.number(data, 'value'):g} {unit}".strip()
    return [figure, stored.text(data, "source"), _note(data)]


def _soak_ended(data: stored.Data, record: Record) -> _Parts:
    return [soak_name(data["result"]), " ".join(stored.texts(data, "reasons")), _note(data)]


def _part(data: stored.Data, record: Record) -> _Parts:
    need = record.needs_by_row.get(stored.whole(data, "need") or 0)
    spec = stored.text(data, "spec") or (need.spec if need else _("a part"))
    pieces, order = stored.whole(data, "quantity"), stored.whole(data, "order")
    return [
        _("{pieces} pc {part}").format(pieces=pieces, part=spec) if pieces else spec,
        pack_word(stored.text(data, "section")),
        _("order {number}").format(number=order) if order else "",
        pack_word(stored.text(data, "why")),
        stored.text(data, "new_spec"),
        _note(data),
    ]


def _limit(data: stored.Data, record: Record) -> _Parts:
    words = _("the customer is asked above {amount}, tax included")
    return [words.format(amount=data["amount"]), _note(data)]


def _sent(data: stored.Data, record: Record) -> _Parts:
    words = _("version {version}, {total} in all")
    return [words.format(version=data["version"], total=data["total"]), _note(data)]


def _answered(data: stored.Data, record: Record) -> _Parts:
    words = _("{answer}, to version {version}")
    said = words.format(answer=pack_word(data["answer"]), version=data["version"])
    return [said, _way(data), _note(data)]


def _way(data: stored.Data) -> str:
    """Return how something was said: by link, by telephone."""
    return _("by {way}").format(way=pack_word(data["way"]))


def _promised(data: stored.Data, record: Record) -> _Parts:
    return [languages.day(date.fromisoformat(data["on"])), _note(data)]


def _told(data: stored.Data, record: Record) -> _Parts:
    return [pack_word(data["about"]), _way(data)]


def _billed(data: stored.Data, record: Record) -> _Parts:
    return [data["bill"], f"{data['total']} {data['currency']}"]


def _credited(data: stored.Data, record: Record) -> _Parts:
    words = _("{credit} for {bill}").format(credit=data["credit"], bill=data["bill"])
    return [words, f"{data['total']} {data['currency']}"]


def _paid(data: stored.Data, record: Record) -> _Parts:
    return [f"{data['amount']} {data['currency']}", data["bill"] or _("deposit"), data["way"]]


def _nothing(data: stored.Data, record: Record) -> _Parts:
    return []


_TELL: dict[str, _Tell] = {
    "received": _received,
    "complaint_recorded": _texts("text"),
    "fact_recorded": _fact,
    "stage_changed": _moved,
    "permit_granted": _permitted,
    "power_applied": _texts("power"),
    "power_removed": _texts("because"),
    "trial_run": _trial,
    "reading_taken": _reading,
    "soak_reading": _reading,
    "soak_ended": _soak_ended,
    "suspect_changed": _texts("suspect", "change", "section", "evidence"),
    "photo_added": _texts("caption", "of"),
    "note_added": _texts("text"),
    "question_asked": _texts("text"),
    "question_replied": _texts("text"),
    "limit_agreed": _limit,
    "estimate_sent": _sent,
    "estimate_answered": _answered,
    "promise_made": _promised,
    "owner_told": _told,
    "bill_issued": _billed,
    "bill_credited": _credited,
    "bill_paid": _paid,
    "shipped": _texts("carrier", "tracking", "note"),
    "released": _nothing,
    "withdrawn": _nothing,
    "part_needed": _part,
    "part_ordered": _part,
    "part_arrived": _part,
    "part_lost": _part,
    "part_specified": _part,
}
